"""Marking one resample: the credit and verdict of every item, and what they rest on.

Rules of this file:

- This is the one way in which a session is marked: the score of the record and of each redraw
  come from here, and evidence and sentences are told from what is found here.
- Only performances of actions are used up, over all items that want the same action (or any one of
  several, one of which they share). Pairs with credit above 0 are matched for the greatest sum of
  credit x weight / occasions of the item opened, items of weight 0 after all others; then what is
  left in order of *a* and of the key, for a verdict alone; then what was done before *a*.
- What is unsafe in any baby is marked after the key, and all deductions together after that.
"""

from __future__ import annotations

from collections.abc import Iterable

from simengine.scoring.card import EQUAL
from simengine.scoring.deductions import deduct
from simengine.scoring.mark import Marked
from simengine.scoring.matching import best_matching
from simengine.scoring.occasion import (
    Match,
    Occasion,
    candidates,
    last_before,
    met_as_found,
    serving,
)
from simengine.scoring.plan import Plan
from simengine.scoring.resample import Resample, Run


def mark(plan: Plan, resample: Resample, only: frozenset[int] | None = None) -> list[Marked]:
    """Return every item as marked in one resample: the key in its order, then what is unsafe.

    What no recorded time can change is marked the first time and shared by the other resamples.
    ``only``: the places of the items to be marked, with all that want the same performances.
    """
    out: list[Marked] = []
    unsettled: list[Marked] = []
    waiting: dict[tuple[str, ...], list[Occasion]] = {}
    constant: dict[int, Marked] = plan.constant
    for laid in plan.items:
        if only is not None and laid.index not in only:
            continue
        known = constant.get(laid.index)
        if known is not None:
            out.append(known)
            continue
        marked = Marked(laid)
        out.append(marked)
        if laid.constant:
            constant[laid.index] = marked
        if laid.set_aside:
            marked.why = laid.set_aside
            continue
        unsettled.append(marked)
        laid.guide.kind.open(resample, marked)
        if not laid.actions:
            continue
        counting = [occasion for occasion in marked.occasions if occasion.reached]
        for occasion in counting:
            occasion.share = 1.0 / len(counting)
        waiting.setdefault(plan.groups[laid.actions[0]], []).extend(counting)
    for group, occasions in waiting.items():
        if len(occasions) == 1:
            _serve_one(resample, resample.runs_of(group), occasions[0])
        elif occasions:
            _share_out(resample, resample.runs_of(group), occasions)
    for marked in unsettled:
        if not marked.plan.guide.kind.last:
            marked.plan.guide.kind.settle(resample, marked)
    for marked in unsettled:
        if marked.plan.guide.kind.last:
            marked.plan.guide.kind.settle_last(resample, marked, out)
    deduct(out)
    return out


def total_of(marked: Iterable[Marked]) -> float | None:
    """Return the session's total, less deductions and floored at 0; ``None`` without weight."""
    got = weights = less = 0.0
    for item in marked:
        less += item.deducted
        if item.credit is not None:
            got += item.plan.weight * item.credit
            weights += item.plan.weight
    if weights == 0.0:
        return None
    return max(0.0, got / weights - less)


def _serve_one(resample: Resample, runs: list[Run], occasion: Occasion) -> None:
    """Serve the only occasion that wants some actions: by the best, the earliest among equals."""
    matches = candidates(resample, occasion, runs, occasion.plan.item.accepts) if runs else []
    best = occasion.free
    at_least = best.credit + EQUAL if best is not None else 0.0
    for _, match in matches:
        if match.credit > at_least:
            best, at_least = match, match.credit + EQUAL
    if best is None and matches:
        best = matches[0][1]
    occasion.match = best
    if runs and (best is None or best.credit <= 0.0):
        _without_credit(resample, occasion, runs, set())


def _share_out(resample: Resample, runs: list[Run], occasions: list[Occasion]) -> None:
    """Match the performances of some actions with all occasions that want any of them."""
    occasions.sort(key=_opens)
    used: set[int] = set()
    possible = [
        dict(candidates(resample, occasion, runs, occasion.plan.item.accepts))
        for occasion in occasions
    ]
    heavy = [number for number, occasion in enumerate(occasions) if occasion.plan.weight > 0.0]
    light = [number for number, occasion in enumerate(occasions) if occasion.plan.weight <= 0.0]
    _match_best(occasions, possible, heavy, used)
    if light:
        _match_best(occasions, possible, light, used)
    for occasion, kept in zip(occasions, possible, strict=True):
        if occasion.match is not None:
            continue
        for number, match in kept.items():
            if number not in used:
                occasion.match = match
                used.add(number)
                break
    for occasion in occasions:
        _without_credit(resample, occasion, runs, used)


def _match_best(
    occasions: list[Occasion], possible: list[dict[int, Match]], numbers: list[int], used: set[int]
) -> None:
    """Assign pairs with credit for the greatest sum, among some of the occasions."""
    gains: list[dict[int, float]] = []
    for place in numbers:
        occasion = occasions[place]
        free = occasion.free
        at_least = free.credit if free is not None else 0.0
        share = occasion.share * (occasion.plan.weight or 1.0)
        row: dict[int, float] = {}
        for number, match in possible[place].items():
            more = match.credit > at_least + EQUAL or (free is None and match.credit > 0.0)
            if more and number not in used:
                row[number] = (match.credit - at_least) * share
        gains.append(row)
    for place, taken in zip(numbers, best_matching(gains), strict=True):
        occasion = occasions[place]
        if taken is not None:
            occasion.match = possible[place][taken]
            used.add(taken)
        else:
            occasion.match = occasion.free


def _without_credit(
    resample: Resample, occasion: Occasion, runs: list[Run], used: set[int]
) -> None:
    """Say of an occasion that nothing earned credit for what else the record holds."""
    if occasion.match is not None and occasion.match.credit > 0.0:
        return
    own = [run for run in runs if run.action in occasion.plan.actions]
    if not occasion.plan.takes_found and met_as_found(resample, occasion, own):
        occasion.match, occasion.reached, occasion.why = None, False, "as found"
        return
    if occasion.match is not None:
        return
    occasion.before = last_before(occasion, runs, used, occasion.plan.item.accepts)
    occasion.attempted = _attempted(resample, occasion, own)


def _opens(occasion: Occasion) -> int:
    return occasion.at


def _attempted(resample: Resample, occasion: Occasion, runs: list[Run]) -> Run | None:
    """The first run in a way that does not count for an occasion."""
    ways = occasion.plan.item.accepts
    for run in runs:
        if not run.is_in(ways) and serving(resample, occasion, run) is not None:
            return run
    return None
