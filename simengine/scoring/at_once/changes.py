"""A change of a setting, or a finding, that is asked: the array form of ``changes_asked``."""

from __future__ import annotations

import numpy as np

from simengine.quantities.ranges import CLOSE
from simengine.scenario.key import AskedFault, AskedSetting, Windowed
from simengine.scenario.wanted import Steps
from simengine.scoring.at_once.occasions import (
    Occasions,
    best_free,
    best_in_order,
    last_before,
    matched,
    serving,
    worth_of,
)
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.runs import Runs, any_of, first_of, last_of, picked
from simengine.scoring.at_once.stretches import Flags, Floats
from simengine.scoring.at_once.truths import numbers_of
from simengine.scoring.card import EQUAL
from simengine.scoring.changes_asked import RECENT_MS
from simengine.session.record import NEVER


def can_match(asked: AskedSetting | AskedFault) -> bool:
    """Whether all redraws can be done at once: not where the range moves with the clock."""
    return not (isinstance(asked, AskedSetting) and isinstance(asked.to, Steps))


def match_changes(
    redraws: Resamples, occasion: Occasions, asked: AskedSetting | AskedFault
) -> None:
    """Match an occasion that asks for a setting or a fault: one change serves all that it meets."""
    if isinstance(asked, AskedSetting):
        runs, base_unknown = _setting_runs(redraws, occasion, asked)
    else:
        runs, base_unknown = _fault_runs(redraws, asked), redraws.flags()
    plan = occasion.plan
    served = serving(redraws, occasion, runs)
    worth = worth_of(redraws, plan, served, runs)
    may = served.counts & occasion.reached
    if not plan.takes_found:
        may = may & ~runs.of(runs.found)
    if plan.followers:
        may = may & ~runs.by_source(lambda change: change.seq in plan.followers)
    some_free, free = best_free(may & served.free, worth.credit)
    some, best = best_in_order(may & ~served.free, worth.credit)
    if len(runs):
        free_credit, best_credit = picked(worth.credit, free), picked(worth.credit, best)
        takes_free = some_free & (~some | (free_credit >= best_credit - EQUAL))
        best = np.where(takes_free, free, best)
    match = matched((some | some_free) & occasion.reached, best, worth, runs)
    if isinstance(asked, AskedSetting):
        without = occasion.reached & (~match.served | (match.credit == 0.0))
        if without.any():
            as_found = without & _is_as_found(redraws, occasion, asked, runs, served.in_force)
            steps = redraws.steps(asked.setting)
            touched = ~steps.of(steps.found) & (steps.start < NEVER)
            changed = touched & (steps.start >= occasion.at) & (steps.start <= occasion.close)
            unknown = without & ~as_found & base_unknown & any_of(changed)
            occasion.no_value = unknown
            occasion.reached = occasion.reached & ~as_found & ~unknown
            match.served &= occasion.reached
    occasion.match = match
    before, run = last_before(occasion, runs, runs.counts)
    occasion.before, occasion.before_run = before & occasion.reached & ~match.served, run


def _is_as_found(
    redraws: Resamples, occasion: Occasions, change: AskedSetting, runs: Runs, in_force: Flags
) -> Flags:
    item = occasion.plan.item
    assert isinstance(item, Windowed)
    met = any_of(in_force & runs.of(runs.found))
    last = np.minimum(occasion.close, occasion.at + item.latest_ms)
    steps = redraws.steps(change.setting)
    return met & ~any_of(~steps.of(steps.found) & (steps.start <= last))


def _setting_runs(
    redraws: Resamples, occasion: Occasions, subject: AskedSetting
) -> tuple[Runs, Flags]:
    """The stretches in which a setting is as asked, and where its base is not known."""
    steps = redraws.steps(subject.setting)
    there = steps.start < NEVER
    if subject.to is not None:
        inside = occasion.plan.inside
        now = there & steps.by_source(lambda change: inside[change.seq])
        touched = ~steps.of(steps.found) & there
        starts = now.copy()
        if len(steps) > 1:
            starts[1:] &= ~now[:-1] | (touched[1:] & ~touched[:-1])
        return _runs(steps, starts, ~now & there, touched), redraws.flags()
    values = numbers_of(redraws, steps)
    base, unknown = _base(redraws, occasion, steps, values)
    least, lower = occasion.plan.guide.least_change, subject.direction == "lower"
    now = there & _is_beyond(values, base, least, lower=lower)
    starts = now.copy()
    starts[1:] &= ~now[:-1]
    runs = _runs(steps, starts, ~now & there, None)
    return _with_recent(redraws, occasion, steps, runs, values, base, least, lower=lower), unknown


def _runs(steps: Runs, starts: Flags, leaves: Flags, touched: Flags | None) -> Runs:
    """Runs from each step of ``starts`` to the first later one that leaves.

    ``touched``: a start setting is also left when somebody touches it.
    """
    start = np.where(starts, steps.start, NEVER)
    stop = np.full(steps.start.shape, NEVER, dtype=np.int64)
    left = by_hand = np.full(steps.start.shape[1], NEVER, dtype=np.int64)
    for number in range(len(steps) - 1, -1, -1):
        at = steps.start[number]
        stop[number] = left
        if touched is not None:
            stop[number] = np.where(touched[number], left, np.minimum(left, by_hand))
            by_hand = np.where(touched[number], at, by_hand)
        left = np.where(leaves[number], at, left)
    stop = np.where(starts, stop, NEVER)
    none = np.zeros_like(steps.found)
    return Runs(steps.sources, steps.seqs, start, stop, steps.which, steps.found, none, none)


def _is_beyond(value: Floats, base: Floats, size: float, *, lower: bool) -> Flags:
    by = base - value if lower else value - base
    beyond: Flags = (by > 0.0) & (by >= size - CLOSE * np.maximum(np.abs(base), np.abs(value)))
    return beyond


def _base(
    redraws: Resamples, occasion: Occasions, steps: Runs, values: Floats
) -> tuple[Floats, Flags]:
    """The value at the anchor as a number, and where none is known at all."""
    if occasion.began is not None:
        before = steps.start <= occasion.began
    else:
        before = (steps.start < occasion.at) | (
            (steps.start == occasion.at) & (steps.seq <= occasion.order)
        )
    some, place = last_of(before & (steps.start < NEVER))
    return np.where(some, picked(values, place, np.nan), np.nan), ~some


def _with_recent(
    redraws: Resamples,
    occasion: Occasions,
    steps: Runs,
    runs: Runs,
    values: Floats,
    base: Floats,
    least: float,
    *,
    lower: bool,
) -> Runs:
    """Put before the others the meaningful change in the 60 s before *a* that is still in force."""
    number = len(steps)
    if not number:
        return runs
    before = occasion.came_before(steps) & (steps.start < NEVER)
    recent = before & ~steps.of(steps.found) & (steps.start >= occasion.at - RECENT_MS)
    recent[0] = False
    recent[1:] &= ~np.isnan(values[1:]) & _is_beyond(base, values[:-1], least, lower=lower)
    some, place = first_of(recent)
    at = np.where(some, picked(steps.start, place), NEVER)
    until = np.maximum(occasion.at + 1, at + 1)
    which = np.broadcast_to(
        np.arange(number)[:, None] if steps.which is None else steps.which, runs.start.shape
    )
    first = picked(which, place)
    # its own rows come after those of the steps, as nothing that the scenario started with
    none = np.zeros(2 * number, dtype=np.bool_)
    return Runs(
        [*steps.sources, *steps.sources],
        np.concatenate([steps.seqs, steps.seqs]),
        np.concatenate([at[None], runs.start]),
        np.concatenate([np.where(some, until, NEVER)[None], runs.stop]),
        np.concatenate([first[None] + number, which]),
        np.concatenate([steps.found, none[:number]]),
        none,
        none,
    )


def _fault_runs(redraws: Resamples, fault: AskedFault) -> Runs:
    """The stretches in which a planted fault is found (or put right)."""
    events = redraws.faults(fault.fault)
    planted = events.by_source(lambda event: event.status == "planted")
    serves = events.by_source(
        lambda event: (
            event.status == "mended" or (event.status == "found" and fault.status == "found")
        )
    )
    there = events.start < NEVER
    open_ = redraws.flags()
    starts = np.zeros(events.start.shape, np.bool_)
    for number in range(len(events)):
        starts[number] = there[number] & serves[number] & ~open_
        open_ = (open_ | starts[number]) & ~planted[number]
    runs = _runs(events, starts, planted & there, None)
    runs.found = np.zeros_like(runs.found)
    return runs
