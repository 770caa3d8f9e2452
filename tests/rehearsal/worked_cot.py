"""A session in which one pair of hands works the cot: what a page does, without a page."""

from __future__ import annotations

from collections.abc import Sequence

from simengine.rehearsal.cot import (
    Bench,
    Cot,
    Entry,
    Hold,
    Part,
    Reading,
    Worked,
    arrives,
    bench_of,
    cot_of,
    drifted,
    manometer,
    parts_of,
    shown,
    worked,
)
from simengine.scenario.model import Scenario
from simengine.session.events import Event
from simengine.session.full_speed import opening
from simengine.session.live import LiveSession

_SESSION = "00000000-0000-4000-8000-00000000000b"


def bench_for(scenario: Scenario) -> Bench:
    bench = bench_of(scenario)
    assert bench is not None
    return bench


class WorkedCot:
    """A session from its opening, or resumed from the events of its log."""

    def __init__(self, bench: Bench, events: Sequence[Event] = ()) -> None:
        self.bench = bench
        self.live = LiveSession(bench.scenario, events, chained=False)
        self.parts: dict[str, Part] = {part.name: part for part in parts_of(bench)}
        self.held: tuple[Hold, ...] = ()
        if not events:
            data = {**opening(bench.scenario, session_id=_SESSION), "arrives": arrives(bench)}
            self.live.record("opened", data, noted_ms=0, by="me", wall="2026-01-01T08:00:00Z")
        self.now = self.live.fold.noted_ms

    @property
    def cot(self) -> Cot:
        return cot_of(self.bench, self.live.fold, self.held)

    def wait(self, seconds: float) -> None:
        self.now += int(1000 * seconds)

    def do(self, part: str, control: str, value: float | str | bool | None = None) -> Worked:
        """Work one control a second after the last, and record what comes of it."""
        self.wait(1)
        answer = worked(self.cot, self.parts[part], control, value, self.now)
        self.held = answer.held
        self.record(answer.entries)
        self.record(drifted(self.cot))
        assert not drifted(self.cot), "once recorded, nothing has drifted"
        return answer

    def record(self, entries: Sequence[Entry]) -> None:
        for entry in entries:
            self.live.record(entry.kind, entry.data, noted_ms=self.now, by="me")

    def start_clock(self) -> None:
        """Let the event come that starts the team's clock."""
        name = self.bench.scenario.start.clock
        self.live.record("event", {"name": name}, noted_ms=self.now, by="me")

    def look(self, part: str) -> Reading:
        return shown(self.cot, self.parts[part], self.now)

    def needle(self) -> str:
        return manometer(self.cot, self.now).words

    def press(self, part: str, label: str) -> Worked:
        """Press what is labelled so."""
        name = next(each.name for each in self.parts[part].handles if each.label == label)
        return self.do(part, name)

    def fault(self, name: str) -> str:
        """How far the team is with a fault."""
        return self.live.fold.account.fault_steps[name][-1][1]

    def in_log(self, setting: str) -> float | str | None:
        """What the log has of a setting."""
        return self.live.fold.account.values.get(setting)
