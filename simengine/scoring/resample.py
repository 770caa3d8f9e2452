"""One resample of the recorded times: the record itself, or the record with its times redrawn.

Rules of this file:

- A resample answers what scoring asks of the team's times: runs of an action, the value of a
  setting, readings, truth of a condition. All answers follow from a vector of mark times.
- States, curves, words and supplies are as they were in every resample.
- People's events at one ms are ordered by ``seq``. A run is (start, seq, stop, known); the stop
  of a momentary one is its start, and of one that was not stopped ``NEVER``.
- What was stopped before the vocabulary's shortest time, or began after the session's end, is
  no run.
- Answers are kept, so that items that ask the same thing share the work.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from typing import Any, NamedTuple

from simengine.scenario.conditions import Condition
from simengine.scenario.wanted import Value
from simengine.scoring.clauses import is_fixed
from simengine.scoring.plan import KnownPerformance, Plan
from simengine.session.readings import COUNTS, Sensing, sensing
from simengine.session.record import Change, FaultEvent, Interval, Shown
from simengine.session.truth import FaultStatus, Timeline, Truth, joined, truth


class Run(NamedTuple):
    """One performance (or one stretch of a setting, one finding of a fault, one reading).

    ``as_found``: the scenario itself started with it. ``stays``: once done it stays done, and
    uses nothing up; ``on_baby``: it is done to the baby.
    """

    start: int
    seq: int
    stop: int
    source: KnownPerformance | Change | FaultEvent | Shown
    as_found: bool = False
    stays: bool = False
    on_baby: bool = False

    @property
    def action(self) -> str:
        """The action done; empty for what is no performance."""
        return getattr(self.source, "action", "")

    @property
    def way(self) -> str:
        """The way in which it was done; empty for what is no performance."""
        return getattr(self.source, "way", "")

    def is_in(self, ways: tuple[str, ...]) -> bool:
        """Whether it was done in one of some ways."""
        return self.way in ways


class Step(NamedTuple):
    """A setting takes a value."""

    at: int
    seq: int
    value: Value
    change: Change


class Resample:
    """The times of one resample. ``marks``: an instant for each of ``Record.marks``, in ms.

    ``known`` and ``told`` keep, for each observation, the readings and what was said of it;
    ``care`` the time in which the baby is cared for.
    """

    __slots__ = (
        "_counting",
        "_faults",
        "_readings",
        "_runs",
        "_steps",
        "_timeline",
        "_together",
        "care",
        "clock",
        "known",
        "marks",
        "plan",
        "told",
    )

    def __init__(self, plan: Plan, marks: Sequence[int], clock: int | None) -> None:
        self.plan = plan
        self.marks = marks
        self.clock = clock
        self._runs: dict[str, list[Run]] = {}
        self._counting: dict[tuple[str, tuple[str, ...]], list[Run]] = {}
        self.care: tuple[Interval, ...] | None = None
        self.known: dict[str, list[Run]] = {}
        self.told: dict[str, Any] = {}
        self._together: dict[tuple[str, ...], list[Run]] = {}
        self._steps: dict[str, tuple[list[int], list[Step]]] = {}
        self._faults: list[tuple[int, FaultEvent]] | None = None
        self._readings: dict[str, Sensing] = {}
        self._timeline: Timeline | None = None

    def runs(self, action: str) -> list[Run]:
        """Return the runs of an action in every way, in order."""
        runs = self._runs.get(action)
        if runs is None:
            runs = self._runs[action] = self._runs_now(action)
        return runs

    def counting(self, action: str, ways: tuple[str, ...] = COUNTS) -> list[Run]:
        """Return the runs of an action in the ways that count."""
        key = (action, ways)
        counting = self._counting.get(key)
        if counting is None:
            runs = self.runs(action)
            counting = [run for run in runs if run[3].way in ways]  # type: ignore[union-attr]
            self._counting[key] = counting
        return counting

    def done(self, action: str, ways: tuple[str, ...] = COUNTS) -> list[Run]:
        """Return the runs of an action in the ways that count that somebody did."""
        return [run for run in self.counting(action, ways) if not run.as_found]

    def runs_of(self, actions: tuple[str, ...]) -> list[Run]:
        """Return the runs of any of some actions in every way, in order."""
        if len(actions) == 1:
            return self.runs(actions[0])
        together = self._together.get(actions)
        if together is None:
            together = [run for action in actions for run in self.runs(action)]
            together.sort(key=_start_and_seq)
            self._together[actions] = together
        return together

    def _runs_now(self, action: str) -> list[Run]:
        marks, end = self.marks, self.plan.end
        out: list[Run] = []
        performed = self.plan.performances.get(action)
        if performed is None:
            return out
        for known in performed:
            start = known.start if known.start_mark is None else marks[known.start_mark]
            if start > end:
                continue
            if known.momentary:
                stop = start
            else:
                stop = known.stop if known.stop_mark is None else marks[known.stop_mark]
                if stop - start < known.shortest:
                    continue
            out.append(
                Run(
                    start,
                    known.seq,
                    stop,
                    known,
                    known.start_mark is None,
                    known.stays,
                    known.on_baby,
                )
            )
        if len(out) > 1:
            out.sort(key=_start_and_seq)
        return out

    def steps(self, setting: str) -> tuple[list[int], list[Step]]:
        """Return the changes of a setting in order, with their instants beside them."""
        timed_steps = self._steps.get(setting)
        if timed_steps is None:
            marks, end = self.marks, self.plan.end
            steps = []
            for change in self.plan.changes.get(setting, ()):
                at = change.at_ms if change.mark is None else marks[change.mark]
                if at <= end:
                    steps.append(Step(at, change.seq, change.value, change))
            steps.sort(key=_at_and_seq)
            timed_steps = self._steps[setting] = ([step[0] for step in steps], steps)
        return timed_steps

    def step_at(self, setting: str, instant: int) -> Step | None:
        """Return the change whose value is in force at ``instant``, its own ms included."""
        instants, steps = self.steps(setting)
        number = bisect_right(instants, instant)
        return steps[number - 1] if number else None

    def step_before(self, setting: str, instant: int, seq: float) -> Step | None:
        """Return the change whose value is in force at the event (``instant``, ``seq``)."""
        latest = None
        for step in self.steps(setting)[1]:
            if (step.at, step.seq) > (instant, seq):
                break
            latest = step
        return latest

    def first_step_after(self, setting: str, instant: int, within: int) -> Step | None:
        """Return the first change within ``within`` ms after ``instant``."""
        instants, steps = self.steps(setting)
        number = bisect_right(instants, instant)
        if number < len(steps) and steps[number].at <= instant + within:
            return steps[number]
        return None

    def faults(self) -> list[tuple[int, FaultEvent]]:
        """Return what happened to the planted faults, in order, each with its instant."""
        if self._faults is None:
            marks = self.marks
            timed = [
                (event.at_ms if event.mark is None else marks[event.mark], event)
                for event in self.plan.faults
            ]
            timed.sort(key=_instant_and_seq)
            self._faults = [pair for pair in timed if pair[0] <= self.plan.end]
        return self._faults

    def readings(self, observation: str) -> Sensing:
        """Return when the team could read an observation."""
        senses = self._readings.get(observation)
        if senses is None:
            entry = self.plan.observations[observation]
            performances = [
                known.performed(start, None if known.momentary else stop)
                for by in entry.revealed_by
                for start, _, stop, known, *_ in self.counting(by.action)
                if isinstance(known, KnownPerformance)
            ]
            senses = self._readings[observation] = sensing(entry, performances, self.plan.shown)
        return senses

    def truth(self, condition: Condition, start: int, end: int) -> Truth:
        """Return the stretches of [start, end) in which a condition of the key holds."""
        plan = self.plan
        key = (id(condition), start, end)
        stretches = plan.truths.get(key)
        if stretches is not None:
            return stretches
        if self._timeline is None:
            self._timeline = self._timeline_now(frozenset())
        stretches = truth(condition, self._timeline, start, end)
        fixed = plan.fixed.get(key[0])
        if fixed is None:
            fixed = plan.fixed[key[0]] = is_fixed(condition)
        if fixed:
            plan.truths[key] = stretches
        return stretches

    def without(self, left_out: frozenset[int]) -> Resample:
        """Return this resample as if the performances with these ``seq`` had not been recorded."""
        other = Resample(self.plan, self.marks, self.clock)
        other._timeline = self._timeline_now(left_out)
        return other

    def _timeline_now(self, left_out: frozenset[int]) -> Timeline:
        plan = self.plan
        doing: dict[str, Truth] = {}
        done: dict[str, list[int]] = {}
        for action in plan.watched.actions:
            runs = self.counting(action)
            if left_out:
                runs = [run for run in runs if run[1] not in left_out]
            doing[action] = joined([(run[0], run[2]) for run in runs])
            done[action] = [run[0] for run in runs]
        settings = {
            setting: [(step[0], step[2]) for step in self.steps(setting)[1]]
            for setting in plan.watched.settings
        }
        faults: dict[str, list[tuple[int, FaultStatus]]] = {}
        if plan.watched.faults:
            for at, event in self.faults():
                faults.setdefault(event.fault, []).append((at, event.status))
        shared = plan.shared
        return Timeline(
            doing=doing,
            done=done,
            settings=settings,
            faults=faults,
            stays=shared.stays,
            curves=shared.curves,
            words=shared.words,
            supplies=shared.supplies,
            seen={name: self.readings(name).first_known for name in plan.watched.seen},
            clock_ms=self.clock,
            cache=shared.cache,
            sensing={name: self.readings(name) for name in plan.watched.read},
            meaningful=shared.meaningful,
        )


def _start_and_seq(run: Run) -> tuple[int, int]:
    return run[0], run[1]


def _at_and_seq(step: Step) -> tuple[int, int]:
    return step[0], step[1]


def _instant_and_seq(pair: tuple[int, FaultEvent]) -> tuple[int, int]:
    return pair[0], pair[1].seq
