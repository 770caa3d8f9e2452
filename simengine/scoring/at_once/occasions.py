"""One occasion of an item in every redraw: the array form of ``occasion``.

Rules of this file:

- What is said there of one run and one occasion is said here of all runs (rows) in all redraws
  (columns) at once, in the same order.
- An occasion that does not open in a redraw does not exist in it, and has *a* = ``NEVER``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from simengine.scenario.key import Windowed
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.runs import Runs, any_of, last_of, picked
from simengine.scoring.at_once.settings import settings_credits
from simengine.scoring.at_once.stretches import Flags, Floats, Ints
from simengine.scoring.card import EQUAL
from simengine.scoring.occasion import RECORDED_BEFORE_MS
from simengine.scoring.plan import ItemPlan


@dataclass(eq=False)
class Occasions:
    """One occasion in every redraw, see ``Occasion``. ``declared``: the team's word closes it.

    After marking: ``reached``; ``no_value``: it can't be told; ``match``; ``before``: something
    was done before; ``attempted``.
    """

    plan: ItemPlan
    exists: Flags
    at: Ints
    order: Ints | float
    close: Ints
    declared: Flags
    began: Ints | None = None
    own: Ints | None = None
    at_entry: bool = False
    since: Ints | int = 0
    reached: Flags = field(init=False)
    no_value: Flags = field(init=False)
    match: Matches = field(init=False)
    before: Flags = field(init=False)
    before_run: Ints = field(init=False)
    attempted: Flags = field(init=False)

    def __post_init__(self) -> None:
        none = np.zeros_like(self.exists)
        self.reached = self.exists.copy()
        self.no_value, self.before, self.attempted = none, none, none

    @property
    def instant(self) -> Ints:
        """*a*, or *a* + ``not_before`` if that is later."""
        return self.at + max(self.plan.not_before, 0)

    def came_before(self, runs: Runs) -> Flags:
        """Whether runs began before *a*, by the order of events."""
        before: Flags = (runs.start < self.at) | ((runs.start == self.at) & (runs.seq < self.order))
        return before


class Serving(NamedTuple):
    """How runs could serve an occasion. ``counts``: they could, by being done."""

    counts: Flags
    at: Ints
    delay: Ints
    free: Flags
    in_force: Flags


class Worth(NamedTuple):
    """What each run would earn, and what its verdict would be made of."""

    credit: Floats
    delay: Ints
    early: Flags
    off: Flags
    unrecorded: Flags
    wholly_off: Flags
    told_wrong: Flags


@dataclass(eq=False)
class Matches:
    """What serves an occasion in each redraw; ``served`` is false where nothing does.

    ``run``: its place among ``runs``, which bring role, start and ``seq``.
    """

    served: Flags
    credit: Floats
    delay: Ints
    early: Flags
    wrong: Flags
    off: Flags
    unrecorded: Flags
    wholly_off: Flags
    runs: Runs
    run: Ints


def serving(redraws: Resamples, asked: Occasions, runs: Runs) -> Serving:
    """Return how runs could serve an occasion, without credits."""
    plan, at = asked.plan, asked.at
    start, stop = runs.start, runs.stop
    as_found, stays = runs.of(runs.found), runs.of(runs.stays)
    before = asked.came_before(runs)
    can = runs.counts & asked.exists
    if asked.own is not None:
        can = can & (runs.seq != asked.own)
    instant = asked.instant
    in_force = can & (start <= instant) & (instant < stop) & (instant <= asked.close)
    if plan.ahead is not None:
        in_force = in_force & ~before
    after = can & ~in_force & ~as_found & (start <= asked.close) & ~before
    counts = in_force | after
    ahead = np.zeros_like(counts)
    no_delay = ahead
    if plan.ahead is not None:
        early = can & before
        if asked.began is not None:
            no_delay = no_delay | (early & (start >= asked.began))
        if asked.at_entry:
            no_delay = no_delay | (early & (start >= at - RECORDED_BEFORE_MS))
        counts = counts | no_delay
        if plan.ahead == "counts":
            counts = counts | (early & ~as_found & (start >= asked.since))
        stays = np.zeros_like(stays) | (stays & ~before)
    elif plan.not_before <= 0:
        early = can & ~in_force & ~as_found & (start <= asked.close) & before
        if asked.began is not None:
            no_delay = early & (start >= asked.began)
            early = early & ~no_delay
        if plan.not_before < 0:
            recent = early & (start - at >= plan.not_before)
            counts, early = counts | recent, early & ~recent
        if asked.at_entry:
            noted = early & (start >= at - RECORDED_BEFORE_MS)
            no_delay, early = no_delay | noted, early & ~noted
        ahead = early & stays & ~((stop != start) & (stop <= at))
        if runs.on_baby.any() and redraws.plan.session.scenario.start.clock is not None:
            since = redraws.same(2**62) if redraws.clock is None else redraws.clock
            ahead = ahead & (~runs.of(runs.on_baby) | (start >= since))
        counts = counts | no_delay | ahead
    done_at = np.where(in_force, instant, start)
    delay = np.where(no_delay, 0, done_at - at)
    return Serving(counts, done_at, delay, in_force | ahead | stays, in_force)


def time_credits(plan: ItemPlan, delay: Ints) -> tuple[Floats, Flags]:
    """Return the time credit of delays (ms), and whether they are early."""
    item = plan.item
    assert isinstance(item, Windowed)
    ideal, latest = item.ideal_ms, item.latest_ms
    credit = np.where(delay <= ideal, 1.0, 0.0)
    if latest > ideal:
        credit = np.where(
            (delay > ideal) & (delay < latest), (latest - delay) / (latest - ideal), credit
        )
    early = np.zeros(delay.shape, np.bool_)
    if plan.not_before > 0:
        early = delay < plan.not_before
        credit = np.where(early, 0.0, credit)
    return credit, early


def worth_of(redraws: Resamples, plan: ItemPlan, served: Serving, runs: Runs) -> Worth:
    """Work out the credits of what could serve an occasion."""
    credit, early = time_credits(plan, served.delay)
    none = np.zeros(credit.shape, np.bool_)
    if not (plan.checks or plan.doses):
        return Worth(credit, served.delay, early, none, none, none, none)
    settings = settings_credits(redraws, plan, served.at, runs)
    return Worth(
        credit * settings.credit,
        served.delay,
        early,
        none | settings.off,
        none | settings.unrecorded,
        none | settings.wholly_off,
        none | settings.told_wrong,
    )


def best_in_order(may: Flags, credit: Floats) -> tuple[Flags, Ints]:
    """Return in each redraw the best of what may serve, the earliest among equals (1e-9)."""
    width = may.shape[1]
    some, place = np.zeros(width, np.bool_), np.zeros(width, np.int64)
    best = np.zeros(width)
    for number in range(len(may)):
        better = may[number] & (~some | (credit[number] > best + EQUAL))
        best = np.where(better, credit[number], best)
        place = np.where(better, number, place)
        some = some | may[number]
    return some, place


def best_free(may: Flags, credit: Floats) -> tuple[Flags, Ints]:
    """Return in each redraw the best of what uses nothing up, the first of the very best."""
    if not len(may):
        return np.zeros(may.shape[1], np.bool_), np.zeros(may.shape[1], np.int64)
    return any_of(may), np.where(may, credit, -1.0).argmax(axis=0)


def matched(served: Flags, place: Ints, worth: Worth, runs: Runs) -> Matches:
    """Return the runs at ``place`` as what serves an occasion."""
    return Matches(
        served,
        np.where(served, picked(worth.credit, place, 0.0), 0.0),
        picked(worth.delay, place),
        picked(worth.early, place, default=False) & served,
        picked(worth.told_wrong, place, default=False) & served,
        picked(worth.off, place, default=False) & served,
        picked(worth.unrecorded, place, default=False) & served,
        picked(worth.wholly_off, place, default=False) & served,
        runs,
        place,
    )


def last_before(asked: Occasions, runs: Runs, may: Flags) -> tuple[Flags, Ints]:
    """Return the last run before *a* among those that may be told of; none for an own anchor."""
    if asked.own is not None or not len(runs):
        return np.zeros_like(asked.exists), np.zeros_like(asked.at)
    return last_of(may & asked.came_before(runs) & ~runs.of(runs.found) & runs.counts)
