"""When a condition holds in every redraw: the array form of ``session.truth`` for recorded times.

Rules of this file:

- Curves and supplies are as they were, so what looks at them alone is solved once.
- ``raw`` gives the stretches of one clause in no order; ``truth`` gives them in order and apart.
- Truths run from 0 on without end; who asks cuts them to the time that counts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import ceil, floor
from typing import Any

import numpy as np

from simengine.quantities.ranges import CLOSE
from simengine.scenario.conditions import (
    All,
    AnyOf,
    ClockIs,
    Condition,
    Doing,
    Done,
    FaultIs,
    Lately,
    Not,
    Observed,
    Read,
    Seen,
    SettingIs,
    SoFar,
    UnlessChanged,
)
from simengine.scenario.wanted import Steps, Wanted
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.runs import Runs, first_of, picked
from simengine.scoring.at_once.stretches import (
    NOWHERE,
    Flags,
    Floats,
    Ints,
    Stretches,
    holds,
    same_in_all,
    side_by_side,
    solved,
)
from simengine.scoring.clauses import is_fixed
from simengine.session.record import NEVER
from simengine.session.truth import is_as_wanted
from simengine.session.truth import truth as truth_of_one


def truth(redraws: Resamples, condition: Condition) -> Stretches:
    """Return where a condition of the marking guide holds in each redraw, in order."""
    key = id(condition)
    stretches = redraws.truths.get(key)
    if stretches is None:
        parts: list[Stretches] = []
        _gather(redraws, condition, parts)
        if all(part.starts.shape[1] == 1 for part in parts) and is_fixed(condition):
            stretches = _fixed(redraws, condition)
        else:
            stretches = solved(parts, lambda at: _inside(redraws, condition, at))
        redraws.truths[key] = stretches
    return stretches


def both(redraws: Resamples, one: Condition, other: Condition) -> Condition:
    """Return the condition that both hold, the same object each time."""
    key = (id(one), id(other))
    both_hold = redraws.made.get(key)
    if both_hold is None:
        both_hold = redraws.made[key] = All((one, other))
    return both_hold


def _gather(redraws: Resamples, condition: Condition, out: list[Stretches]) -> None:
    match condition:
        case All(parts) | AnyOf(parts):
            for part in parts:
                _gather(redraws, part, out)
        case Not(part):
            _gather(redraws, part, out)
        case _:
            out.append(_raw(redraws, condition))


def _inside(redraws: Resamples, condition: Condition, at: Ints) -> Flags:
    match condition:
        case All(parts):
            out: Flags = np.ones(at.shape, np.bool_)
            for part in parts:
                out = out & _inside(redraws, part, at)
            return out
        case AnyOf(parts):
            out = np.zeros(at.shape, np.bool_)
            for part in parts:
                out = out | _inside(redraws, part, at)
            return out
        case Not(part):
            return ~_inside(redraws, part, at)
    return holds(_raw(redraws, condition), at)


def _raw(redraws: Resamples, condition: Condition) -> Stretches:
    key = id(condition)
    stretches = redraws.raw.get(key)
    if stretches is None:
        if is_fixed(condition):
            stretches = _fixed(redraws, condition)
        else:
            stretches = _CLAUSES[type(condition)](redraws, condition)
        redraws.raw[key] = stretches
    return stretches


def _fixed(redraws: Resamples, condition: Condition) -> Stretches:
    """Where a condition holds that looks at curves and supplies alone."""
    return same_in_all(truth_of_one(condition, redraws.curves, 0, NEVER))


def _doing(redraws: Resamples, condition: Doing) -> Stretches:
    return Stretches(*redraws.counting(condition.action))


def _done(redraws: Resamples, condition: Done) -> Stretches:
    instants, _ = redraws.counting(condition.action)
    if condition.ever:
        first = instants.min(axis=0, initial=NEVER)[None]
        return Stretches(first, np.full_like(first, NEVER))
    starts, ends = [], []
    for number, (entry, exit_) in enumerate(redraws.plan.shared.stays):
        since = (instants >= entry) if number == 0 else (instants > entry)
        starts.append(np.where(since, instants, NEVER).min(axis=0, initial=NEVER))
        ends.append(redraws.same(exit_))
    return Stretches(redraws.rows(starts), redraws.rows(ends))


def _setting(redraws: Resamples, condition: SettingIs) -> Stretches:
    steps = redraws.steps(condition.setting)
    return side_by_side(
        [
            Stretches(
                np.where(_is_as(steps, row), np.maximum(steps.start, begin), NEVER),
                np.minimum(steps.stop, end),
            )
            for begin, end, row in _rows(redraws, condition.wanted)
        ]
        or [NOWHERE]
    )


def _is_as(steps: Runs, wanted: Wanted) -> Flags:
    return steps.by_source(lambda change: is_as_wanted(change.value, wanted))


def _rows(redraws: Resamples, wanted: Wanted) -> list[tuple[Ints | int, Ints | int, Any]]:
    """The rows of what is wanted as (begin, end, range); one row where no clock decides."""
    if not isinstance(wanted, Steps):
        return [(0, NEVER, wanted)]
    zero = redraws.clock
    if zero is None:
        return []
    nexts = [*(since for since, _ in wanted.rows[1:]), None]
    return [
        (zero + since, NEVER if following is None else zero + following, row)
        for (since, row), following in zip(wanted.rows, nexts, strict=True)
    ]


def _observed(redraws: Resamples, condition: Observed) -> Stretches:
    """Where a value is in the row of the clock."""
    parts = []
    for begin, end, row in _rows(redraws, condition.wanted):
        whole = _fixed(redraws, Observed(condition.observation, row))
        starts, ends = np.maximum(whole.starts, begin), np.minimum(whole.ends, end)
        parts.append(Stretches(*np.broadcast_arrays(starts, ends)))
    return side_by_side(parts or [NOWHERE])


def _seen(redraws: Resamples, condition: Seen) -> Stretches:
    first = np.broadcast_to(
        redraws.readings(condition.observation).first_known(), (1, redraws.number)
    )
    return Stretches(first, np.full_like(first, NEVER))


def _read(redraws: Resamples, condition: Read) -> Stretches:
    """Where the last reading was as wanted: while a sensor reads, and after it as it left off."""
    sensed = redraws.readings(condition.observation)
    value = Observed(condition.observation, condition.wanted)
    whole = _observed(redraws, value)
    streams, once = sensed.streams, sensed.snapshots
    if len(once):
        once = np.where(holds(streams, once), NEVER, once)
    pieces = side_by_side([streams, Stretches(once, np.minimum(once + 1, NEVER))])
    begin, stop = (np.broadcast_to(side, (len(side), redraws.number)) for side in pieces)
    if len(begin) > 1:
        order = np.argsort(begin, axis=0, kind="stable")
        begin = np.take_along_axis(begin, order, axis=0)
        stop = np.take_along_axis(stop, order, axis=0)
    following = np.concatenate([begin[1:], redraws.same(NEVER)[None]])[: len(begin)]
    within = condition.within_ms
    old = np.full_like(stop, NEVER) if within is None else np.minimum(stop + within, NEVER)
    until = np.minimum(old, following)
    left = holds(whole, stop - 1) & (begin < NEVER)
    parts = [Stretches(np.where(left, stop, NEVER), until)]
    for start, end in zip(whole.starts, whole.ends, strict=True):
        parts.append(Stretches(np.maximum(begin, start), np.minimum(stop, end)))
    return side_by_side(parts)


def _so_far(redraws: Resamples, condition: SoFar) -> Stretches:
    inner = truth(redraws, condition.condition)
    if not len(inner.starts):
        return NOWHERE
    whole = np.cumsum(inner.ends - inner.starts, axis=0)
    some, place = first_of(whole >= condition.at_least_ms)
    instant = picked(inner.ends, place) - (picked(whole, place) - condition.at_least_ms)
    start = np.where(some, instant, NEVER)[None]
    return Stretches(start, np.full_like(start, NEVER))


def _lately(redraws: Resamples, condition: Lately) -> Stretches:
    inner = truth(redraws, condition.condition)
    return Stretches(inner.starts, np.minimum(inner.ends + condition.within_ms, NEVER))


def _unless_changed(redraws: Resamples, condition: UnlessChanged) -> Stretches:
    steps = redraws.steps(condition.setting)
    least = redraws.plan.shared.meaningful.get(condition.setting, 0.0)
    values = numbers_of(redraws, steps)
    base: Floats = np.full(redraws.number, np.nan)
    changed = []
    for at, value in zip(steps.start, values, strict=True):
        known = (at < NEVER) & ~np.isnan(value)
        by = base - value if condition.direction == "lower" else value - base
        slack = CLOSE * np.maximum(np.abs(base), np.abs(value))
        now = known & (by > 0.0) & (by >= least - slack)
        changed.append(np.where(now, at, NEVER))
        base = np.where(now | (known & ((by < 0.0) | np.isnan(base))), value, base)
    instants = redraws.rows(changed)
    bars = Stretches(instants, np.where(instants < NEVER, instants + 1, NEVER))
    return solved([bars], lambda at: ~holds(bars, at))


def numbers_of(redraws: Resamples, steps: Runs) -> Floats:
    """Return the values of changes as numbers in place; a word is none."""
    values = steps.by_source(
        lambda change: np.nan if isinstance(change.value, str) else float(change.value),
        np.float64,
    )
    return np.broadcast_to(values, (len(steps), redraws.number))


def _fault(redraws: Resamples, condition: FaultIs) -> Stretches:
    runs = redraws.faults(condition.fault)
    planted = runs.by_source(lambda event: event.status == "planted")
    mended = runs.by_source(lambda event: event.status == "mended")
    holding = redraws.flags()
    starts = []
    for number, at in enumerate(runs.start):
        if condition.status == "planted":
            holding = planted[number] | (holding & ~mended[number])
        elif condition.status == "found":
            holding = redraws.flags() | ~planted[number]
        else:
            holding = mended[number] | (holding & ~planted[number])
        starts.append(np.where(holding, at, NEVER))
    return Stretches(redraws.rows(starts), runs.stop)


def _clock(redraws: Resamples, condition: ClockIs) -> Stretches:
    zero, wanted = redraws.clock, condition.wanted
    if zero is None:
        return NOWHERE
    begin, stop = zero, redraws.same(NEVER)
    if wanted.low > 0.0:
        begin = zero + (floor(wanted.low) + 1 if wanted.low_open else ceil(wanted.low))
    elif wanted.low == 0.0 and wanted.low_open:
        begin = zero + 1
    if wanted.high < NEVER:
        stop = zero + (ceil(wanted.high) if wanted.high_open else floor(wanted.high) + 1)
    return Stretches(begin[None], stop[None])


_CLAUSES: Mapping[type, Callable[[Resamples, Any], Stretches]] = {
    Doing: _doing,
    Done: _done,
    SettingIs: _setting,
    Observed: _observed,
    Seen: _seen,
    Read: _read,
    SoFar: _so_far,
    Lately: _lately,
    UnlessChanged: _unless_changed,
    FaultIs: _fault,
    ClockIs: _clock,
}
