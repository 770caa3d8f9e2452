"""A play, played through the real engine at full speed.

Rules of this file:

- It is a live session whose clock jumps from instant to instant. At one instant people's steps come
  first, in the order of the file; then what the scenario does by itself.
- A step that waits for a condition is done once that has held for its time, as known at each
  instant: it reacts to what the baby does, and to what the team has read.
- The event that starts the team's clock is given at its time; all else that the facilitator does is
  a step. In a rehearsal, as this is, no cot has to be returned to service.
- It goes on until the scenario closes by itself or a step closes it; what has not ended at three
  times the planned time is stopped early. Then the record is confirmed.
- Equal plays give equal logs: nothing is random, and the session's id follows from the play's name.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from heapq import heappop, heappush
from typing import Any
from uuid import NAMESPACE_OID, uuid5

from simengine.plays.play_model import Act, Play, Step, When
from simengine.scenario.conditions import names_read
from simengine.scenario.demonstration import held_to_its_mark
from simengine.session import Event, LiveSession, RefusedError, Session, opening
from simengine.session.account import PROGRAM
from simengine.session.events import Kind
from simengine.session.readings import sensing, true_value
from simengine.session.record import NEVER
from simengine.session.truth import Timeline, truth

_WALL = "2026-01-01T09:00:00.000Z"
_TEAM, _FACILITATOR = "recorder", "facilitator"
_OF_THE_TEAM = frozenset(("action", "set", "fault"))
"""Kinds that the recorder writes down; the rest is the facilitator's."""


@dataclass(frozen=True, slots=True)
class _Entry:
    """Something that was done at ``at_ms`` and is still to be written down."""

    kind: Kind
    data: Mapping[str, Any]
    at_ms: int
    step: Step


@dataclass(frozen=True, slots=True)
class Performed:
    """What came of a play: the session, and each step that was never done, with the reason."""

    play: Play
    session: Session
    never_done: tuple[tuple[Step, str], ...]


def perform(play: Play, *, chained: bool = False) -> Performed:
    """Play ``play`` until it ends. ``chained``: hash the events, to keep the log."""
    return _Stage(play, chained).perform()


class _Stage:
    def __init__(self, play: Play, chained: bool) -> None:
        self._play = play
        self._scenario = held_to_its_mark(play.scenario)
        self._live = LiveSession(self._scenario, chained=chained)
        # (when, order in the file, order of planning, what)
        self._agenda: list[tuple[int, int, int, Step | _Entry]] = []
        self._planned = 0
        settings = self._scenario.vocabulary.settings.values()
        self._meaningful = {setting.name: setting.least_change for setting in settings}
        self._waiting: dict[int, int] = {}
        self._done: set[int] = set()
        self._refused: dict[int, str] = {}
        self._acted: set[str] = set()
        self._entered: set[str] = set()
        self._until: dict[int, int] = {}

    def perform(self) -> Performed:
        play, live = self._play, self._live
        session_id = str(uuid5(NAMESPACE_OID, f"simengine:{self._scenario.id}/{play.name}"))
        data = opening(self._scenario, session_id=session_id)
        opened = live.record("opened", data, noted_ms=0, by=_FACILITATOR, wall=_WALL)
        for step in play.steps:
            self._expect(step)
        self._take_in(opened)
        clock = self._scenario.start.clock
        horizon = 3 * self._scenario.planned_ms
        while not live.closed:
            times = [self._agenda[0][0] if self._agenda else None, live.next_due()]
            given = self._times_given()
            times += [min(given.values(), default=None), play.clock_at_ms if clock else None]
            now = min((time for time in times if time is not None), default=horizon)
            if now >= horizon:
                live.record("closed", {"why": "stopped early"}, noted_ms=horizon, by=_FACILITATOR)
                break
            if clock is not None and now == play.clock_at_ms:
                name, clock = clock, None
                self._record("event", {"name": name}, now, now)
                continue
            for number, time in given.items():
                if time == now:
                    self._met(play.steps[number], now)
            if self._agenda and self._agenda[0][0] == now:
                self._do(now)
            elif now not in given.values():
                self._take_in(live.advance(now))
        self._confirm()
        return Performed(
            play,
            live.session(),
            tuple(
                (step, self._refused.get(step.number, "it never came to that"))
                for step in play.steps
                if step.number not in self._done
            ),
        )

    # --- when -----------------------------------------------------------------------------------

    def _expect(self, step: Step) -> None:
        """Put a step on the agenda, or let it wait for what it names."""
        at = self._fixed(step.when)
        if at is not None:
            self._plan(step, at)
        elif step.when.kind == "condition":
            self._waiting[step.number] = -1
        if step.until is not None:
            at = self._fixed(step.until)
            if at is not None:
                self._until[step.number] = at

    def _fixed(self, when: When) -> int | None:
        if when.kind == "start":
            return when.after_ms
        return self._play.clock_at_ms + when.after_ms if when.kind == "clock" else None

    def _plan(self, step: Step, at_ms: int) -> None:
        self._put(max(at_ms, self._live.fold.noted_ms), step.number, step)

    def _put(self, at_ms: int, number: int, what: Step | _Entry) -> None:
        self._planned += 1
        heappush(self._agenda, (at_ms, number, self._planned, what))

    def _times_given(self) -> dict[int, int]:
        """Return when each step that waits for a condition would have it, as known now."""
        out = {}
        for number, since in self._waiting.items():
            at = self._holds_at(self._play.steps[number].when, since)
            if at is not None:
                out[number] = max(at, self._live.fold.noted_ms)
        return out

    def _holds_at(self, when: When, since: int) -> int | None:
        """The log time at which a condition has held for its time, in a stretch after ``since``."""
        assert when.condition is not None
        fold = self._live.fold
        for start, end in truth(when.condition, self._timeline(when), 0, NEVER):
            at = start + when.lasting_ms
            if start > since and at < end:
                return fold.times.log(at)
        return None

    def _timeline(self, when: When) -> Timeline:
        """What is known now, with what the team has read where a condition asks for that."""
        fold = self._live.fold
        assert when.condition is not None
        observed = [name for kind, name in names_read(when.condition) if kind == "seen"]
        read = {}
        if observed:
            known = fold.account.record()
            observations = self._scenario.vocabulary.observations
            read = {
                name: sensing(observations[name], known.performances, known.shown)
                for name in observed
            }
        seen = {name: senses.first_known for name, senses in read.items()}
        return replace(fold.timeline, seen=seen, sensing=read, meaningful=self._meaningful)

    def _met(self, step: Step, now_ms: int) -> None:
        self._plan(step, now_ms + step.when.after_ms)
        if step.each:
            self._waiting[step.number] = self._live.fold.times.scenario(now_ms)
        else:
            del self._waiting[step.number]

    def _take_in(self, events: list[Event]) -> None:
        """Let steps follow what has just been written down."""
        for event in events:
            if event.kind == "state":
                self._happened("state", str(event.data["state"]), event.noted_ms, self._entered)
            elif event.kind == "action" and event.data["phase"] != "stop":
                self._happened("action", str(event.data["action"]), event.noted_ms, self._acted)

    def _happened(self, kind: str, name: str, now_ms: int, before: set[str]) -> None:
        again = name in before
        before.add(name)
        for step in self._play.steps:
            if step.when.kind == kind and step.when.name == name and (step.each or not again):
                self._plan(step, now_ms + step.when.after_ms)
            until = step.until
            if until is not None and until.kind == kind and until.name == name and not again:
                self._until[step.number] = now_ms + until.after_ms

    # --- what -----------------------------------------------------------------------------------

    def _do(self, now_ms: int) -> None:
        what = heappop(self._agenda)[3]
        if isinstance(what, _Entry):
            self._write(what, now_ms)
            return
        if now_ms >= self._until_ms(what):
            return
        if what.every_ms is not None:
            self._put(now_ms + what.every_ms, what.number, what)
        for act in what.acts:
            entry = _Entry(act.kind, self._data(act, now_ms), now_ms, what)
            if what.late_ms:
                self._put(now_ms + what.late_ms, what.number, entry)
            else:
                self._write(entry, now_ms)

    def _until_ms(self, step: Step) -> int:
        until = step.until
        if until is not None and until.kind == "condition":
            at = self._holds_at(until, -1)
            return NEVER if at is None else at + until.after_ms
        return self._until.get(step.number, NEVER)

    def _write(self, entry: _Entry, now_ms: int) -> None:
        try:
            self._record(entry.kind, entry.data, entry.at_ms, now_ms)
        except RefusedError as error:
            self._refused[entry.step.number] = error.words
        else:
            self._done.add(entry.step.number)

    def _record(self, kind: Kind, data: Mapping[str, Any], at_ms: int, noted_ms: int) -> None:
        by = _TEAM if kind in _OF_THE_TEAM else _FACILITATOR
        self._take_in(self._live.record(kind, data, at_ms=at_ms, noted_ms=noted_ms, by=by))

    def _data(self, act: Act, now_ms: int) -> Mapping[str, Any]:
        data = dict(act.data)
        fold = self._live.fold
        if act.tells is not None:
            timeline = fold.timeline
            now = fold.times.scenario(now_ms)
            value = true_value(act.tells, timeline.curves, timeline.words, now)
            if value is not None:
                observation = self._scenario.vocabulary.observations[act.tells]
                spoken = value if isinstance(value, str) else round(value, observation.decimals)
                unit = {} if observation.unit is None else {"unit": observation.unit}
                data["spoken"] = {act.tells: {"value": spoken, **unit}}
        if act.undoes is not None:
            by_hand = [e.id for e in fold.events if e.kind == act.undoes and e.by != PROGRAM]
            data["id"] = by_hand[-1] if by_hand else ""
        return data

    def _confirm(self) -> None:
        noted = self._live.fold.noted_ms
        self._live.record("confirmed", {}, noted_ms=noted, by=_FACILITATOR)
