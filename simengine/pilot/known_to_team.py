"""What a simulated team has done and what it can know, as a timeline of its own.

Rules of this file:

- A team knows its own actions, settings and finds at their true instants, whether or not the
  recorder caught them.
- Of the infant it knows what a reading told, and no more: a snapshot stays what it was until the
  next one, a sensor that streams follows the infant, and what was never read is not known.
- Supplies and the clock are in plain sight.
- What a condition comes to is kept until something has changed that it reads, and what it has come
  to by an instant is so for good: what a team learns later is of later.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from simengine.pilot.needs import Need
from simengine.pilot.scenario_asks import asked_of_teams
from simengine.pilot.values import is_right, wanted_now
from simengine.scenario.conditions import Condition, Doing, Done, Name, Not, SettingIs
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Observation
from simengine.scenario.wanted import Value
from simengine.session.dynamics import value_at
from simengine.session.readings import Sensing, sensing, true_value
from simengine.session.record import NEVER, Interval, Performance, Segment
from simengine.session.truth import FaultStatus, Solved, Timeline, Truth, clipped, joined, truth

_Piece = Segment | tuple[int, str]


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known of an observation, with all that it follows from."""

    sensing: Sensing
    readings: int
    pieces: int
    last: _Piece | None
    known: list[Any]


class Memory:
    """The team's own account. Instants are scenario time in ms, in order."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.performances: list[Performance] = [
            Performance(action, 0, NEVER, "done", None, "", -1, None)
            for action in scenario.start.doing
        ]
        self.settings: dict[str, list[tuple[int, Value]]] = {
            name: [(0, value)] for name, value in scenario.start.settings.items()
        }
        self.faults: dict[str, list[tuple[int, FaultStatus]]] = {
            fault.name: [(0, "planted")]
            for fault in scenario.start.faults.values()
            if fault.planted_at_start
        }
        self.stays: list[Interval] = []
        """The states that it has noticed."""
        self.clock_ms: int | None = None
        self.acts = 0
        """How often the team has done, set or found something: its own account may have changed."""
        self._doing: dict[str, list[Interval]] = {}
        self._done: dict[str, list[int]] = {}
        for action in scenario.start.doing:
            self._doing[action], self._done[action] = [(0, NEVER)], [0]
        asked_of_team = asked_of_teams(scenario)
        self._reveals, self._readers = asked_of_team.reveals, asked_of_team.readers
        self._sensing: dict[str, Sensing] = {}
        self._kept: dict[str, _Known] = {}
        # By condition (its id): until when it is settled, and where it holds.
        self._judged: dict[int, tuple[int, Truth]] = {}
        self._settled: set[int] = set()
        # (what it was made from, of which observations, until when, what was known)
        self._known_then: tuple[tuple[object, ...], Sequence[str], int, Timeline] | None = None
        self._shown: dict[Name, object] = {}
        self._pieces: dict[tuple[int, int], tuple[Segment, Segment]] = {}
        self._solved: dict[tuple[str, int], Solved] = {}

    def start_clock(self, at_ms: int) -> None:
        """Note time zero."""
        self.clock_ms = at_ms
        self._settled.clear()

    def notice_state(self, now_ms: int) -> None:
        """Note that another state was noticed."""
        if self.stays:
            self.stays[-1] = (self.stays[-1][0], now_ms)
        self.stays.append((now_ms, NEVER))
        self._settled.clear()

    def _touch(self, name: Name) -> None:
        """Let those conditions be judged again from now on that read ``name``."""
        self._settled.difference_update(self._readers.get(name, ()))

    def _shows(self, name: Name, shown: object) -> None:
        """Note what is known by a name now."""
        if self._shown.get(name) != shown:
            self._shown[name] = shown
            self._touch(name)

    def clock(self, now_ms: int) -> int | None:
        """Return ms on the team's clock; ``None`` before it has started."""
        return None if self.clock_ms is None else now_ms - self.clock_ms

    def met(self, need: Need, since_ms: int) -> bool:
        """Whether the team has what is needed; ``since_ms``: when the state was noticed."""
        match need:
            case Doing(action):
                return self.runs(action)
            case Done(action, ever):
                return self.done_since(action, 0 if ever else since_ms)
            case SettingIs(setting, wanted):
                now = wanted_now(wanted, None)
                return now is None or is_right(self.value(setting), now)
            case Not(Doing(action)):
                return not self.runs(action)
        raise AssertionError(need)

    def value(self, setting: str) -> Value | None:
        """Return what the team takes a setting to be; ``None`` if it does not know."""
        known = self.settings.get(setting)
        return known[-1][1] if known else None

    def runs(self, action: str) -> bool:
        """Whether a lasting action is running."""
        return any(stop == NEVER for _, stop in self._doing.get(action, ()))

    def done_since(self, action: str, since_ms: int) -> bool:
        """Whether an action was done, or begun, at or after an instant."""
        return any(start >= since_ms for start in self._done.get(action, ()))

    def did(self, action: str, at_ms: int) -> None:
        """Note an action done, or begun if it lasts."""
        known = self.scenario.vocabulary.actions[action]
        if known.ends is not None:
            self.stopped(known.ends, at_ms)
        stop = NEVER if known.lasting else None
        self.performances.append(Performance(action, at_ms, stop, "done", None, "", -1, None))
        if known.lasting:
            self._doing.setdefault(action, []).append((at_ms, NEVER))
        self._done.setdefault(action, []).append(at_ms)
        self._sense_again(action)

    def stopped(self, action: str, at_ms: int) -> None:
        """Note that a lasting action was stopped."""
        self.performances = [
            performance._replace(stop_ms=at_ms)
            if performance.action == action and performance.stop_ms == NEVER
            else performance
            for performance in self.performances
        ]
        self._doing[action] = [
            (start, at_ms if stop == NEVER else stop) for start, stop in self._doing.get(action, ())
        ]
        self._sense_again(action)

    def _sense_again(self, action: str) -> None:
        """Note that ``action`` has been done or stopped, and what it reveals with it."""
        self.acts += 1
        self._touch(("action", action))
        for observation in self._reveals.get(action, ()):
            self._known_then = None
            self._sensing.pop(observation, None)

    def set(self, setting: str, value: Value, at_ms: int) -> None:
        """Note a setting."""
        self.acts += 1
        self._touch(("setting", setting))
        self.settings.setdefault(setting, []).append((at_ms, value))

    def fault(self, name: str, status: FaultStatus, at_ms: int) -> None:
        """Note a fault planted, found or put right."""
        self.acts += 1
        self._touch(("fault", name))
        self.faults.setdefault(name, []).append((at_ms, status))

    def senses(self, observation: str) -> Sensing:
        """Return when the team could read an observation."""
        if observation not in self._sensing:
            self._sensing[observation] = sensing(
                self.scenario.vocabulary.observations[observation], self.performances
            )
        return self._sensing[observation]

    def with_readings(self, real: Timeline) -> Timeline:
        """Return what the team has done, and the infant as it could be read at each instant."""
        for name in self.scenario.vocabulary.observations:
            self.senses(name)
        return Timeline(
            doing=self._doing,
            done=self._done,
            settings=self.settings,
            faults=self.faults,
            stays=self.stays,
            curves=real.curves,
            words=real.words,
            supplies=real.supplies,
            seen={},
            clock_ms=self.clock_ms,
            sensing=self._sensing,
            solved=real.solved,
        )

    def timeline(self, real: Timeline, observations: Sequence[str], now_ms: int) -> Timeline:
        """Return what the team knows, of these observations, for judging conditions.

        ``real`` gives the infant's curves, of which only what was read by ``now_ms`` is kept; a
        sensor that streams is taken to go on as it does now. It is the same one as before until
        another reading has come, or what is read has changed; what the team does itself comes into
        it as it is done (``acts``).
        """
        now = (len(self.stays), self.clock_ms, *_newest(real, observations))
        kept = self._known_then
        if kept is not None and kept[0] == now and kept[1] == observations and now_ms < kept[2]:
            return kept[3]
        known = self._timeline_now(real, observations, now_ms)
        coming = [
            instant
            for name in observations
            for instant in (
                *self.senses(name).snapshots,
                *(start for start, _ in self.senses(name).streams),
            )
            if instant > now_ms
        ]
        self._known_then = (now, observations, min(coming, default=NEVER), known)
        return known

    def _timeline_now(self, real: Timeline, observations: Sequence[str], now_ms: int) -> Timeline:
        curves: dict[str, list[Segment]] = {}
        words: dict[str, list[tuple[int, str]]] = {}
        seen: dict[str, int] = {}
        for name in observations:
            observation = self.scenario.vocabulary.observations[name]
            if observation.words:
                shown = real.words.get(name, ())
                known = words[name] = self._known(observation, shown, real, now_ms)
            else:
                shape = real.curves.get(name, ())
                known = curves[name] = self._known(observation, shape, real, now_ms)
            seen[name] = self.senses(name).first_known
            self._shows(("curve", name), known)
            self._shows(("seen", name), seen[name])
        for name, levels in real.supplies.items():
            self._shows(("supply", name), levels[-1])
        return Timeline(
            doing=self._doing,
            done=self._done,
            settings=self.settings,
            faults=self.faults,
            stays=self.stays,
            curves=curves,
            words=words,
            supplies=real.supplies,
            seen=seen,
            clock_ms=self.clock_ms,
            solved=self._solved,
        )

    def holds(self, condition: Condition, known: Timeline, now_ms: int) -> Truth:
        """Return where ``condition`` holds, by what the team knows (``timeline``).

        It is the same list as before while nothing else has come of it.
        """
        key = id(condition)
        since, before = self._judged.get(key, (0, []))
        if key in self._settled:
            return before
        later = truth(condition, known, since, NEVER)
        holds = joined([*clipped(before, 0, since), *later]) if since else later
        if holds == before:
            holds = before
        self._settled.add(key)
        self._judged[key] = (now_ms, holds)
        return holds

    def _known(
        self, observation: Observation, shown: Sequence[_Piece], real: Timeline, now_ms: int
    ) -> list[Any]:
        """What is known of what was ``shown``: the same list as before while nothing was added."""
        name = observation.name
        sensing = self.senses(name)
        readings = sum(read <= now_ms for read in sensing.snapshots)
        readings += sum(start <= now_ms for start, _ in sensing.streams)
        kept = self._kept.get(name)
        last = shown[-1] if shown else None
        if (
            kept is None
            or kept.sensing is not sensing
            or (kept.readings, kept.pieces) != (readings, len(shown))
            or kept.last is not last
        ):
            make = self._known_words if observation.words else self._known_curve
            known = make(observation, real, now_ms)
            kept = self._kept[name] = _Known(sensing, readings, len(shown), last, known)
        return kept.known

    def _known_curve(
        self, observation: Observation, timeline: Timeline, now_ms: int
    ) -> list[Segment]:
        curves = timeline.curves
        real = curves.get(observation.name, ())
        senses = self.senses(observation.name)
        known: list[Segment] = []
        for read in senses.snapshots:
            value = true_value(observation.name, curves, {}, read) if read <= now_ms else None
            if isinstance(value, float):
                known.append(Segment(read, value, value, None))
        for start, end in senses.streams:
            if start > now_ms:
                continue
            for index, segment in enumerate(real):
                until = real[index + 1].start_ms if index + 1 < len(real) else NEVER
                begin = max(segment.start_ms, start)
                if begin < min(until, end):
                    known.append(self._piece(segment, begin))
            if end != NEVER and (value := true_value(observation.name, curves, {}, end)):
                assert not isinstance(value, str)
                known.append(Segment(end, value, value, None))
        known.sort(key=lambda segment: segment.start_ms)
        return known

    def _piece(self, segment: Segment, begin_ms: int) -> Segment:
        """Return a segment from an instant on, the same one each time."""
        kept = self._pieces.get((id(segment), begin_ms))
        if kept is None or kept[0] is not segment:
            piece = segment._replace(start_ms=begin_ms, value=value_at(segment, begin_ms))
            kept = self._pieces[id(segment), begin_ms] = (segment, piece)
        return kept[1]

    def _known_words(
        self, observation: Observation, real: Timeline, now_ms: int
    ) -> list[tuple[int, str]]:
        senses = self.senses(observation.name)
        shown = real.words.get(observation.name, ())
        known: list[tuple[int, str]] = []
        for read in senses.snapshots:
            value = true_value(observation.name, {}, {observation.name: shown}, read)
            if read <= now_ms and isinstance(value, str):
                known.append((read, value))
        for start, end in senses.streams:
            before = true_value(observation.name, {}, {observation.name: shown}, start)
            if start <= now_ms and isinstance(before, str):
                known.append((start, before))
            known.extend((at, word) for at, word in shown if start < at < end and at <= now_ms)
        return sorted(known)


def _newest(real: Timeline, observations: Sequence[str]) -> list[object]:
    """The last piece of what is shown of each observation, and of each supply."""
    pieces: list[object] = []
    for name in observations:
        shown = real.curves.get(name) or real.words.get(name)
        pieces.append(shown[-1] if shown else None)
    pieces += [levels[-1] for levels in real.supplies.values()]
    return pieces
