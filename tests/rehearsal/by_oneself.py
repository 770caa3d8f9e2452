"""Somebody who plays alone without server or page, by the same director, touches and view."""

from __future__ import annotations

import json
import uuid
from dataclasses import asdict
from typing import Any

from simengine.desk.scene import Scene
from simengine.rehearsal.alone_rules import alone_rules
from simengine.rehearsal.cot import arrives, bench_of
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.director import AloneDirector
from simengine.rehearsal.show import groups_of, play_view
from simengine.rehearsal.touches import Touch, done_by
from simengine.scenario.model import Scenario
from simengine.session.full_speed import opening
from simengine.session.live import LiveSession

_SESSION = "00000000-0000-4000-8000-00000000000c"


class ByOneself:
    """A session from its opening; times are log times in ms."""

    def __init__(self, scenario: Scenario, *, guided: bool = False) -> None:
        self.scenario = scenario
        self.rules = alone_rules()
        bench = bench_of(scenario)
        assert bench is not None
        self.cot = CotAtHand(bench)
        self.director = AloneDirector(
            scenario,
            self.rules,
            guided=guided,
            cot=self.cot,
            show=lambda scene, cot: play_view(scene, self.rules, cot),
        )
        self.live = LiveSession(scenario, chained=False)
        data = {**opening(scenario, session_id=_SESSION), "arrives": arrives(bench)}
        self.live.record("opened", data, noted_ms=0, by="me", wall="2026-01-01T08:00:00Z")
        self.now = 0
        self.touches = 0
        self.by = ""
        """Who does what is touched, as a touch says it: oneself."""

    @property
    def scene(self) -> Scene:
        return Scene(self.live.fold, self.now, 0)

    def comes_to(self, now: int) -> None:
        """Let time go by until ``now``; what comes by itself is taken."""
        self.now = now
        self.live.advance(now)
        while entry := self.director.next_entry(self.live, now):
            self.live.record(entry[0], entry[1], noted_ms=now, by="program")
            self.live.advance(now)

    def wait(self, seconds: float) -> None:
        self.comes_to(self.now + int(1000 * seconds))

    def touch(self, do: str, name: str = "", **chosen: Any) -> str:
        """Touch something; the words that answer. Raises ``NotDoneError``."""
        touch = Touch(str(uuid.uuid4()), do, name, {"by": self.by, **chosen})
        done = done_by(touch, self.scene, self.rules, self.cot, "me")
        self.touches += 1
        for number, entry in enumerate(done.entries):
            place = f"touch {self.touches}, entry {number}"
            self.live.record(entry.kind, entry.data, noted_ms=self.now, by="me", id=place)
        for moved in self.cot.drifted(self.live.fold):
            self.live.record(moved.kind, moved.data, noted_ms=self.now, by="me")
        self.comes_to(self.now)
        return done.words

    def works(self, part: str, control: str, value: Any = None) -> str:
        return self.touch("cot", part, control=control, value=value)

    @property
    def page(self) -> str:
        """All that the page is sent, but the ids of the program's own entries, drawn at random."""
        view: Any = asdict(play_view(self.scene, self.rules, self.cot))
        for happened in view["happened"]:
            if not happened["id"].startswith("touch"):
                del happened["id"]
        groups = [asdict(group) for group in groups_of(self.scenario, self.cot)]
        return json.dumps([view, groups])

    @property
    def happened(self) -> list[str]:
        """What has happened, in words, as the page tells it."""
        return [line.words for line in play_view(self.scene, self.rules, self.cot).happened]
