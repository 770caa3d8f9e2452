"""Which performance serves which occasion in every redraw: the array form of the matching.

Rules of this file:

- Where no two occasions of a redraw gain by the same performance each takes its own best. Where
  some compete, every choice is tried with all redraws at once, as ``matching`` does for a handful.
- Resamples in which too many performances compete, and groups with an item of weight 0, are left to
  be marked one by one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simengine.scenario.key import Windowed
from simengine.scoring.at_once.occasions import (
    Occasions,
    Serving,
    Worth,
    best_free,
    last_before,
    matched,
    serving,
    worth_of,
)
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.runs import Runs, first_of, picked
from simengine.scoring.at_once.stretches import Flags, Floats, Ints
from simengine.scoring.card import EQUAL

_MOST = 5
"""So many performances may compete; their choices are tried by 2 to this power."""


@dataclass(eq=False)
class _Asked:
    """An occasion with what may serve it. ``own``: what does what it asks; ``kept``: by being
    used up; ``gain``: what a kept run adds to the sum; ``taken``: its place, -1 for none."""

    occasion: Occasions
    served: Serving
    worth: Worth
    own: Flags
    accepted: Flags
    kept: Flags
    free: Flags
    free_run: Ints
    gain: Floats
    taken: Ints


def share_out(
    redraws: Resamples, group: tuple[str, ...], occasions: Sequence[Occasions]
) -> Flags | None:
    """Match the performances of some actions with all occasions that want any of them.

    Returns the redraws that are to be marked one by one; ``None``: all of them.
    """
    if any(occasion.plan.weight <= 0.0 for occasion in occasions):
        return None
    runs = redraws.runs(group)
    number: dict[int, Ints] = {}
    for occasion in occasions:
        plan = occasion.plan
        number[plan.index] = number.get(plan.index, redraws.same(0)) + occasion.reached
    claims = [_asked(redraws, runs, each, number[each.plan.index]) for each in occasions]
    left = redraws.flags()
    if len(runs):
        left = _take_best(claims)
        _take_what_is_left(redraws, claims, runs)
    used = np.zeros(runs.start.shape, np.bool_)
    places = np.arange(len(runs))[:, None]
    for each in claims:
        used |= places == each.taken
    for each in claims:
        _settle(each, runs, used)
    return left


def _asked(redraws: Resamples, runs: Runs, occasion: Occasions, number: Ints) -> _Asked:
    plan, item = occasion.plan, occasion.plan.item
    assert isinstance(item, Windowed)
    accepted = runs.by_source(lambda known: known.way in item.accepts)
    own = runs.by_source(lambda known: known.action in plan.actions)
    served = serving(redraws, occasion, runs)
    worth = worth_of(redraws, plan, served, runs)
    may = served.counts & accepted & own & occasion.reached
    if not plan.takes_found:
        may = may & ~runs.of(runs.found)
    if plan.followers:
        may = may & ~runs.by_source(lambda known: known.seq in plan.followers)
    some, place = best_free(may & served.free, worth.credit)
    at_least = np.where(some, picked(worth.credit, place, 0.0), 0.0)
    kept = may & ~served.free
    more = kept & ((worth.credit > at_least + EQUAL) | (~some & (worth.credit > 0.0)))
    share = plan.weight / np.maximum(number, 1)
    gain = np.where(more, (worth.credit - at_least) * share, 0.0)
    none = redraws.same(-1)
    return _Asked(occasion, served, worth, own, accepted, kept, some, place, gain, none)


def _take_best(claims: Sequence[_Asked]) -> Flags:
    """Assign pairs with credit for the greatest sum; return where that is to be done one by one."""
    wanted = sum((each.gain > 0.0).astype(np.int64) for each in claims)
    competing = (np.asarray(wanted) > 1).any(axis=0)
    for each in claims:
        best = each.gain.max(axis=0)
        some, place = first_of((each.gain >= best - EQUAL) & (each.gain > 0.0))
        each.taken = np.where(some, place, -1)
    left = np.zeros_like(competing)
    if competing.any():
        where = np.flatnonzero(competing)
        gains = np.stack([each.gain[:, where] for each in claims])
        rows = np.flatnonzero((gains > 0.0).any(axis=(0, 2)))
        if len(rows) > _MOST:
            left[where] = True
        else:
            order = _by_time([each.occasion.at[where] for each in claims])
            taken = by_trying(np.take_along_axis(gains[:, rows], order[:, None], axis=0))
            for number in range(len(claims)):
                place = taken[number]
                chosen = np.where(place >= 0, rows[np.maximum(place, 0)], -1)
                for other, each in enumerate(claims):
                    mine = order[number] == other
                    each.taken[where[mine]] = chosen[mine]
    return left


def _by_time(at: Sequence[Ints]) -> Ints:
    """For each redraw the occasions in order of *a*, those of one instant in the order given."""
    return np.argsort(np.stack(at), axis=0, kind="stable")


def by_trying(gains: Floats) -> Ints:
    """Return the run that each occasion takes in each redraw, -1 for none.

    ``gains``: (occasion, run, redraw), 0 where a run earns nothing. Solved by a table of
    (occasion, performances used up) → best sum of the rest.
    """
    occasions, runs, width = gains.shape
    masks = 1 << runs
    rest = np.zeros((occasions + 1, masks, width))
    for number in range(occasions - 1, -1, -1):
        for used in range(masks):
            best = rest[number + 1, used]
            for run in range(runs):
                if not used & (1 << run):
                    gain = gains[number, run]
                    total = gain + rest[number + 1, used | (1 << run)]
                    best = np.where(gain > 0.0, np.maximum(best, total), best)
            rest[number, used] = best
    columns = np.arange(width)
    goal = rest[0, 0] - EQUAL
    so_far, used_up = np.zeros(width), np.zeros(width, dtype=np.int64)
    taken = np.full((occasions, width), -1)
    for number in range(occasions):
        for run in range(runs):
            gain = gains[number, run]
            after = used_up | (1 << run)
            total = so_far + gain + rest[number + 1, after, columns]
            takes = (taken[number] < 0) & (used_up & (1 << run) == 0) & (gain > 0.0)
            takes &= total >= goal
            taken[number] = np.where(takes, run, taken[number])
        took = taken[number] >= 0
        place = np.maximum(taken[number], 0)
        so_far = so_far + np.where(took, gains[number, place, columns], 0.0)
        used_up = np.where(took, used_up | (1 << place), used_up)
    return taken


def _take_what_is_left(redraws: Resamples, claims: Sequence[_Asked], runs: Runs) -> None:
    """Give to those without any, in order of *a*, the first run left, for a verdict alone."""
    places = np.arange(len(runs))[:, None]
    used = np.zeros(runs.start.shape, np.bool_)
    for each in claims:
        used |= places == each.taken
    wanting = [(each.taken < 0) & ~each.free & each.kept.any(axis=0) for each in claims]
    if not any(want.any() for want in wanting):
        return
    if len(claims) == 1:
        order = np.zeros((1, redraws.number), dtype=np.int64)
    else:
        order = _by_time([each.occasion.at for each in claims])
    for turn in order:
        for number, each in enumerate(claims):
            now = wanting[number] & (turn == number)
            if not now.any():
                continue
            some, place = first_of(each.kept & ~used & now)
            each.taken = np.where(some, place, each.taken)
            used |= (places == place) & some


def _settle(each: _Asked, runs: Runs, used: Flags) -> None:
    """Note what serves an occasion; of one that nothing earned credit for what else there is."""
    occasion = each.occasion
    place = np.where(each.taken >= 0, each.taken, each.free_run)
    served = ((each.taken >= 0) | each.free) & occasion.reached
    match = matched(served, place, each.worth, runs)
    without = occasion.reached & (match.credit <= 0.0)
    if without.any() and len(runs):
        were_found = runs.of(runs.found)
        if not occasion.plan.takes_found and runs.found.any():
            as_found = (each.own & were_found & each.served.in_force).any(axis=0) & without
            occasion.reached &= ~as_found
            match.served &= ~as_found
        nothing = without & ~match.served & occasion.reached
        if nothing.any():
            before, run = last_before(occasion, runs, each.accepted & each.own & ~used)
            occasion.before, occasion.before_run = before & nothing, run
            other = each.own & ~each.accepted & each.served.counts
            occasion.attempted = other.any(axis=0) & nothing
    occasion.match = match
