"""What a simulated team has done and what it can know, as a timeline of its own.

Rules of this file:

- A team knows its own actions, settings and finds at their true instants, whether or not the
  recorder caught them.
- Of the infant it knows what a reading told, and no more: a snapshot stays what it was until the
  next one, a sensor that streams follows the infant, and what was never read is not known.
- Supplies and the clock are in plain sight.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from simengine.pilot.needs import Need
from simengine.pilot.values import is_right, wanted_now
from simengine.scenario.conditions import Doing, Done, Not, SettingIs
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Observation
from simengine.scenario.wanted import Value
from simengine.session.dynamics import value_at
from simengine.session.readings import Sensing, sensing, true_value
from simengine.session.record import NEVER, Interval, Performance, Segment
from simengine.session.truth import FaultStatus, Timeline


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
        self.clock_ms: int | None = None
        self._sensing: dict[str, Sensing] = {}

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
        return any(
            performance.action == action and performance.stop_ms == NEVER
            for performance in self.performances
        )

    def done_since(self, action: str, since_ms: int) -> bool:
        """Whether an action was done, or begun, at or after an instant."""
        return any(
            performance.action == action and performance.start_ms >= since_ms
            for performance in self.performances
        )

    def did(self, action: str, at_ms: int) -> None:
        """Note an action done, or begun if it lasts."""
        known = self.scenario.vocabulary.actions[action]
        if known.ends is not None:
            self.stopped(known.ends, at_ms)
        stop = NEVER if known.lasting else None
        self.performances.append(Performance(action, at_ms, stop, "done", None, "", -1, None))
        self._sensing.clear()

    def stopped(self, action: str, at_ms: int) -> None:
        """Note that a lasting action was stopped."""
        self.performances = [
            replace(performance, stop_ms=at_ms)
            if performance.action == action and performance.stop_ms == NEVER
            else performance
            for performance in self.performances
        ]
        self._sensing.clear()

    def set(self, setting: str, value: Value, at_ms: int) -> None:
        """Note a setting."""
        self.settings.setdefault(setting, []).append((at_ms, value))

    def fault(self, name: str, status: FaultStatus, at_ms: int) -> None:
        """Note a fault planted, found or put right."""
        self.faults.setdefault(name, []).append((at_ms, status))

    def senses(self, observation: str) -> Sensing:
        """Return when the team could read an observation."""
        if observation not in self._sensing:
            self._sensing[observation] = sensing(
                self.scenario.vocabulary.observations[observation], self.performances
            )
        return self._sensing[observation]

    def all_senses(self) -> dict[str, Sensing]:
        """Return when the team could read each observation."""
        return {name: self.senses(name) for name in self.scenario.vocabulary.observations}

    def timeline(self, real: Timeline, observations: Sequence[str], now_ms: int) -> Timeline:
        """Return what the team knows, of these observations, for judging conditions.

        ``real`` gives the infant's curves, of which only what was read by ``now_ms`` is kept; a
        sensor that streams is taken to go on as it does now.
        """
        doing: dict[str, list[Interval]] = {}
        done: dict[str, list[int]] = {}
        for performance in self.performances:
            if performance.stop_ms is not None:
                doing.setdefault(performance.action, []).append(
                    (performance.start_ms, performance.stop_ms)
                )
            done.setdefault(performance.action, []).append(performance.start_ms)
        curves: dict[str, list[Segment]] = {}
        words: dict[str, list[tuple[int, str]]] = {}
        for name in observations:
            observation = self.scenario.vocabulary.observations[name]
            if observation.words:
                words[name] = self._known_words(observation, real, now_ms)
            else:
                curves[name] = self._known_curve(observation, real.curves, now_ms)
        return Timeline(
            doing=doing,
            done=done,
            settings=self.settings,
            faults=self.faults,
            stays=self.stays,
            curves=curves,
            words=words,
            supplies=real.supplies,
            seen={name: self.senses(name).first_known for name in observations},
            clock_ms=self.clock_ms,
        )

    def _known_curve(
        self, observation: Observation, curves: Mapping[str, Sequence[Segment]], now_ms: int
    ) -> list[Segment]:
        real = curves.get(observation.name, ())
        found = self.senses(observation.name)
        known: list[Segment] = []
        for read in found.snapshots:
            value = true_value(observation.name, curves, {}, read) if read <= now_ms else None
            if isinstance(value, float):
                known.append(Segment(read, value, value, None))
        for start, end in found.streams:
            if start > now_ms:
                continue
            for index, segment in enumerate(real):
                until = real[index + 1].start_ms if index + 1 < len(real) else NEVER
                begin = max(segment.start_ms, start)
                if begin < min(until, end):
                    known.append(replace(segment, start_ms=begin, value=value_at(segment, begin)))
            if end != NEVER and (value := true_value(observation.name, curves, {}, end)):
                assert not isinstance(value, str)
                known.append(Segment(end, value, value, None))
        known.sort(key=lambda segment: segment.start_ms)
        return known

    def _known_words(
        self, observation: Observation, real: Timeline, now_ms: int
    ) -> list[tuple[int, str]]:
        found = self.senses(observation.name)
        shown = real.words.get(observation.name, ())
        known: list[tuple[int, str]] = []
        for read in found.snapshots:
            value = true_value(observation.name, {}, {observation.name: shown}, read)
            if read <= now_ms and isinstance(value, str):
                known.append((read, value))
        for start, end in found.streams:
            before = true_value(observation.name, {}, {observation.name: shown}, start)
            if start <= now_ms and isinstance(before, str):
                known.append((start, before))
            known.extend((at, word) for at, word in shown if start < at < end and at <= now_ms)
        return sorted(known)
