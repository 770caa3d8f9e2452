"""Every redraw of the recorded times at once: the array form of ``resample``.

Rules of this file:

- A redraw is a column of every array; instants are in whole ms.
- Answers are those of ``Resample`` in each redraw, and are kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from simengine.scenario.conditions import Condition
from simengine.scoring.at_once.runs import Runs, in_order
from simengine.scoring.at_once.stretches import (
    NOWHERE,
    Flags,
    Ints,
    Stretches,
    same_in_all,
    solved,
)
from simengine.scoring.plan import Plan
from simengine.session.readings import COUNTS
from simengine.session.record import NEVER, Change, FaultEvent

if TYPE_CHECKING:
    from simengine.scoring.at_once.tellings import Tellings
    from simengine.scoring.redrawn_times import RedrawnTimes


@dataclass(frozen=True, eq=False)
class Sensed:
    """When an observation could be read: in stretches, and once at instants (``NEVER``: none)."""

    streams: Stretches
    snapshots: Ints

    def first_known(self) -> Ints:
        """The first instant at which there was a reading; ``NEVER`` if there was none."""
        first = self.streams.starts.min(axis=0, initial=NEVER)
        first = np.minimum(first, self.snapshots.min(axis=0, initial=NEVER))
        return np.asarray(first)

    def last_reading(self, at: Ints) -> Ints:
        """The newest reading at an instant; -1 without any."""
        newest = np.full(np.shape(at), -1, dtype=np.int64)
        for start, end in zip(self.streams.starts, self.streams.ends, strict=True):
            read = (start <= at) & (start < end)
            newest = np.maximum(newest, np.where(read, np.minimum(at, end - 1), -1))
        for instant in self.snapshots:
            newest = np.maximum(newest, np.where(instant <= at, instant, -1))
        return newest


class Resamples:
    """The times of all redraws. ``clock``: time zero in each, ``None`` if it never came."""

    def __init__(self, plan: Plan, times: RedrawnTimes) -> None:
        self.plan = plan
        self.times = times
        self.clock = times.clock
        self.number = len(times)
        self.raw: dict[int, Stretches] = {}
        self.truths: dict[int, Stretches] = {}
        self.made: dict[tuple[int, int], Condition] = {}
        # without what is kept by a condition's id: some are made here, and go
        self.curves = replace(plan.shared, cache=None)
        self.known: dict[str, Runs] = {}
        self.told: dict[str, Tellings] = {}
        self.care: Stretches | None = None
        self._runs: dict[tuple[str, ...], Runs] = {}
        self._counting: dict[str, tuple[Ints, Ints]] = {}
        self._steps: dict[str, Runs] = {}
        self._faults: dict[str, Runs] = {}
        self._sensed: dict[str, Sensed] = {}

    def same(self, value: int) -> Ints:
        """Return a figure that is the same in all redraws."""
        return np.full(self.number, value, dtype=np.int64)

    def flags(self, value: bool = False) -> Flags:
        """Return a flag for each redraw."""
        return np.full(self.number, value, dtype=np.bool_)

    def at(self, mark: int | None, recorded: int) -> Ints:
        """Return the instants of a mark, or of what has none."""
        return self.same(recorded) if mark is None else self.times.marks[mark]

    def rows(self, rows: Sequence[Ints]) -> Ints:
        """Return rows under each other."""
        return np.stack(rows) if rows else np.zeros((0, self.number), dtype=np.int64)

    def runs(self, actions: tuple[str, ...]) -> Runs:
        """Return the runs of any of some actions in every way, in order."""
        runs = self._runs.get(actions)
        if runs is None:
            runs = self._runs[actions] = self._runs_now(actions)
        return runs

    def _runs_now(self, actions: tuple[str, ...]) -> Runs:
        plan = self.plan
        known = [each for action in actions for each in plan.performances.get(action, ())]
        starts, stops = [], []
        for each in known:
            start = self.at(each.start_mark, each.start)
            stop = start if each.momentary else self.at(each.stop_mark, each.stop)
            gone = start > plan.end
            if not each.momentary:
                gone = gone | (stop - start < each.shortest)
            starts.append(np.where(gone, NEVER, start))
            stops.append(stop)
        return in_order(
            known,
            [each.seq for each in known],
            self.rows(starts),
            self.rows(stops),
            found=[each.as_found for each in known],
            stays=[each.stays for each in known],
            on_baby=[each.on_baby for each in known],
        )

    def counting(self, action: str) -> tuple[Ints, Ints]:
        """Return start and stop of the runs of an action in the ways that count."""
        spans = self._counting.get(action)
        if spans is None:
            runs = self.runs((action,))
            counts = runs.by_source(lambda known: known.way in COUNTS)
            spans = (
                np.where(counts, runs.start, NEVER),
                np.where(counts, runs.stop, NEVER),
            )
            self._counting[action] = spans
        return spans

    def steps(self, setting: str) -> Runs:
        """Return the changes of a setting in order; each stops at the next."""
        steps = self._steps.get(setting)
        if steps is None:
            changes = self.plan.changes.get(setting, ())
            untouched = [not change.touched for change in changes]
            steps = self._steps[setting] = self._each_to_the_next(changes, found=untouched)
        return steps

    def faults(self, fault: str) -> Runs:
        """Return what happened to a fault in order; each stops at the next."""
        runs = self._faults.get(fault)
        if runs is None:
            events = [event for event in self.plan.faults if event.fault == fault]
            runs = self._faults[fault] = self._each_to_the_next(events)
        return runs

    def _each_to_the_next(
        self, things: Sequence[Change | FaultEvent], found: Sequence[bool] | None = None
    ) -> Runs:
        """Return what was recorded one after the other; each stops at the next."""
        starts = self.rows([self.at(thing.mark, thing.at_ms) for thing in things])
        starts = np.where(starts > self.plan.end, NEVER, starts)
        runs = in_order(things, [thing.seq for thing in things], starts, starts, found=found)
        runs.stop = np.concatenate([runs.start[1:], self.same(NEVER)[None]])[: len(runs.start)]
        return runs

    def readings(self, observation: str) -> Sensed:
        """Return when the team could read an observation."""
        sensed = self._sensed.get(observation)
        if sensed is None:
            sensed = self._sensed[observation] = self._sensed_now(observation)
        return sensed

    def _sensed_now(self, observation: str) -> Sensed:
        entry = self.plan.observations[observation]
        if not entry.revealed_by:
            return Sensed(same_in_all(((0, NEVER),)), self.rows([]))
        streams: list[Stretches] = []
        snapshots: list[Ints] = []
        for by in entry.revealed_by:
            runs = self.runs((by.action,))
            start, stop = self.counting(by.action)
            momentary = runs.by_source(lambda known: known.momentary)
            readable = np.where(start < NEVER, start + by.delay_ms, NEVER)
            stop = np.where(momentary, NEVER, stop)
            readable = np.where(readable < stop, readable, NEVER)
            if by.streams:
                streams.append(Stretches(readable, stop))
            else:
                snapshots.append(readable)
        by_hand = shown_by_hand(self.plan, observation)
        if by_hand:
            streams.append(same_in_all([(start, end) for start, end, _ in by_hand]))
        read = np.concatenate(snapshots) if snapshots else self.rows([])
        return Sensed(solved(streams) if streams else NOWHERE, read)


def shown_by_hand(plan: Plan, observation: str) -> list[tuple[int, int, int]]:
    """Return (start, end, place in ``Plan.shown``) of what was shown by hand until hidden."""
    out: list[tuple[int, int, int]] = []
    since: tuple[int, int] | None = None
    for place, hand in enumerate(plan.shown):
        if hand.observation != observation:
            continue
        if hand.shown and since is None:
            since = hand.at_ms, place
        elif not hand.shown and since is not None:
            out.append((since[0], hand.at_ms, since[1]))
            since = None
    if since is not None:
        out.append((since[0], NEVER, since[1]))
    return out
