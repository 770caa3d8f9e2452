"""One simulated session: a team, a facilitator and a recorder at full speed.

Rules of this file:

- It is a live session whose clock jumps from instant to instant: nothing ticks and nobody waits.
- The facilitator gives each event that a state waits for once the team has nothing left to do
  before it, plants late faults, and gives no cues. A late fault comes a minute into a state that it
  can change, or, where no state answers to it, a minute after time zero.
- The recorder writes down what the team does with an error in time. What the baby answers to is
  never missed, since the facilitator plays the baby by it; of the rest some is. Nobody writes down
  that something ended whose beginning was missed.
- What does not end by itself within three times the planned time is stopped early.
- A real cot with planted faults (in anything but a rehearsal) is returned to service a minute after
  the end, before the session is closed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush
from random import Random
from uuid import UUID

from simengine.pilot.entries import Entry
from simengine.pilot.scenario_asks import asked_of_teams
from simengine.pilot.skills import Skills
from simengine.pilot.team import Team
from simengine.scenario.model import Scenario, State
from simengine.session import Event, LiveSession, RefusedError, Session, opening
from simengine.session.record import Purpose

_BREATH_MS = 10_000
"""What a facilitator waits after the team's last act, before an event."""
_WAITS_AT_MOST_MS = 180_000
_LATE_FAULT_MS = 60_000
_RETURNING_MS = 60_000


@dataclass(frozen=True, slots=True)
class Recorder:
    """How people write down: ``spread_ms`` of times, share ``missed``."""

    spread_ms: float
    missed: float

    @staticmethod
    def of(skills: Skills) -> Recorder:
        """Return the recorder that the skill file describes."""
        return Recorder(
            skills.shared["recording", "spread"].value, skills.shared["recording", "missed"].value
        )

    @staticmethod
    def perfect() -> Recorder:
        """Return one that neither errs nor misses."""
        return Recorder(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Occasion:
    """When, with whom and what for a session is held.

    ``wall``: when it is opened, UTC, ISO 8601. ``people``: role to the codes of those who hold it.
    ``by``: who records.
    """

    wall: str = "2026-01-01T09:00:00.000Z"
    purpose: Purpose = "rehearsal"
    people: Mapping[str, Sequence[str]] = field(default_factory=dict)
    by: str = "recorder"


def play_team(
    scenario: Scenario,
    team: Team,
    recorder: Recorder,
    chance: Random,
    occasion: Occasion | None = None,
) -> Session:
    """Play ``scenario`` with ``team`` until it ends. Equal arguments give an equal session."""
    return _Table(scenario, team, recorder, chance, occasion or Occasion()).play()


class _Table:
    def __init__(
        self,
        scenario: Scenario,
        team: Team,
        recorder: Recorder,
        chance: Random,
        occasion: Occasion,
    ) -> None:
        self._scenario = scenario
        self._team = team
        self._recorder = recorder
        self._chance = chance
        self._occasion = occasion
        self._live = LiveSession(scenario, chained=False)
        self._written: list[tuple[int, int, int, Entry]] = []
        self._number = 0
        self._last_at: dict[str, int] = {}
        self._unwritten: set[str] = set()
        self._state: State = scenario.states[scenario.start.state]
        self._entered_ms = 0
        self._given: set[str] = set()
        self._zero_ms: int | None = None
        asked_of_team = asked_of_teams(scenario)
        self._answered = asked_of_team.answered
        self._late_faults = dict(asked_of_team.late_faults)
        self._awaited: str | None = None
        self._fault: tuple[int, str] | None = None
        self._look_ahead()

    def play(self) -> Session:
        live, team = self._live, self._team
        session_id = UUID(int=self._chance.getrandbits(128), version=4)
        held = self._occasion
        data = opening(
            self._scenario,
            session_id=str(session_id),
            purpose=held.purpose,
            team={role: list(people) for role, people in held.people.items()},
        )
        self._told(live.record("opened", data, noted_ms=0, by=held.by, wall=held.wall), 0)
        horizon = 3 * self._scenario.planned_ms
        while not live.closed:
            written = self._written[0][0] if self._written else None
            times = (
                written,
                live.next_due(),
                team.next_ms(),
                self._event_ms(),
                self._fault[0] if self._fault is not None else None,
                self._return_ms(),
            )
            now = min([time for time in times if time is not None], default=horizon)
            if now >= horizon:
                if live.fold.must_return:
                    self._return(horizon)
                live.record("closed", {"why": "stopped early"}, noted_ms=horizon, by="pilot")
                break
            if now == written:
                self._record(now)
            elif now == times[1]:
                self._told(live.advance(now), now)
            elif now == times[2]:
                for entry in team.act(now, live.fold.timeline):
                    self._write(entry, now)
            elif now == times[3]:
                self._give(now)
            elif now == times[4]:
                self._plant(now)
            else:
                self._return(now)
        return live.session()

    def _told(self, events: list[Event], now_ms: int) -> None:
        for event in events:
            if event.kind == "state":
                name = str(event.data["state"])
                self._state = self._scenario.states[name]
                self._entered_ms = event.at_ms
                self._given.clear()
                self._look_ahead()
                self._team.state_entered(name, now_ms, self._live.fold.timeline)

    # --- the facilitator ------------------------------------------------------------------------

    def _look_ahead(self) -> None:
        """See which event is to be given next, and which fault is to be planted, if one is."""
        self._awaited = self._next_event()
        self._fault = self._next_fault()

    def _next_event(self) -> str | None:
        for transition in self._state.next:
            if transition.on is not None and transition.on not in self._given:
                return transition.on
        clock = self._scenario.start.clock
        return clock if self._zero_ms is None else None

    def _event_ms(self) -> int | None:
        if self._awaited is None:
            return None
        by_itself = min(
            (
                transition.after_ms
                for transition in self._state.next
                if transition.after_ms is not None
            ),
            default=_WAITS_AT_MOST_MS + _BREATH_MS,
        )
        latest = self._entered_ms + max(0, min(_WAITS_AT_MOST_MS, by_itself - _BREATH_MS - 1))
        busy = self._team.busy_until(latest)
        return max(self._entered_ms, busy if busy is not None else 0) + _BREATH_MS

    def _give(self, now_ms: int) -> None:
        name = self._awaited
        assert name is not None
        self._given.add(name)
        if name == self._scenario.start.clock and self._zero_ms is None:
            self._zero_ms = now_ms
        self._look_ahead()
        self._team.named(name, now_ms)
        entry = self._live.record("event", {"name": name}, noted_ms=now_ms, by=self._occasion.by)
        self._told(entry, now_ms)

    def _next_fault(self) -> tuple[int, str] | None:
        """Return when the next late fault is to be planted, and which."""
        if not self._late_faults:
            return None
        if self._zero_ms is None and self._scenario.start.clock is not None:
            return None
        times = [
            ((self._entered_ms if states else self._zero_ms or 0) + _LATE_FAULT_MS, name)
            for name, states in self._late_faults.items()
            if not states or self._state.name in states
        ]
        return min(times, default=None)

    def _plant(self, now_ms: int) -> None:
        assert self._fault is not None
        name = self._fault[1]
        del self._late_faults[name]
        self._look_ahead()
        data = {"fault": name, "status": "planted"}
        self._told(self._live.record("fault", data, noted_ms=now_ms, by=self._occasion.by), now_ms)
        self._team.planted(name, now_ms)

    def _return_ms(self) -> int | None:
        if not self._state.ends or not self._live.fold.must_return:
            return None
        return self._entered_ms + _RETURNING_MS

    def _return(self, now_ms: int) -> None:
        data = {
            "faults": dict.fromkeys(self._scenario.start.faults, True),
            "cylinders": "counted",
            "drugs": "counted",
            "initials": [self._occasion.by, "a colleague"],
        }
        self._told(
            self._live.record("returned", data, noted_ms=now_ms, by=self._occasion.by), now_ms
        )

    # --- the recorder ---------------------------------------------------------------------------

    def _write(self, entry: Entry, now_ms: int) -> None:
        """Take down what was done now: a little late, or dated a little early."""
        error = round(self._chance.gauss(0.0, self._recorder.spread_ms))
        missed = self._chance.random() < self._recorder.missed
        phase, action = entry.data.get("phase"), str(entry.data.get("action", ""))
        if phase == "stop" and action in self._unwritten:
            self._unwritten.remove(action)
            return
        if missed and not self._answers(entry):
            if phase == "start":
                self._unwritten.add(action)
            return
        self._number += 1
        # An error in time never turns round what was done with one thing.
        what = str(entry.data.get("action") or entry.data.get("setting") or "")
        at = max(0, now_ms + error, self._last_at.get(what, -1) + 1 if what else 0)
        self._last_at[what] = at
        noted = max(now_ms, at)
        heappush(self._written, (noted, self._number, at, entry))

    def _answers(self, entry: Entry) -> bool:
        """Whether the baby, or a fault, answers to it."""
        data = entry.data
        names = {data.get("action"), data.get("setting"), *data.get("settings", ())}
        return entry.kind == "fault" or bool(names & self._answered)

    def _record(self, now_ms: int) -> None:
        _, _, at_ms, entry = heappop(self._written)
        try:
            written = self._live.record(
                entry.kind, entry.data, at_ms=at_ms, noted_ms=now_ms, by=self._occasion.by
            )
        except RefusedError:
            # What was noted after the session had closed itself.
            return
        self._told(written, now_ms)
