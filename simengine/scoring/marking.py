"""Marking one resample: the credit and verdict of every item, and what they rest on.

Rules of this file:

- This is the one way in which a session is marked: the score of the record and of each redraw
  come from here, and evidence and sentences are told from what is found here.
- Only performances of actions are used up, over all items that want the same action. Pairs with
  credit above 0 are matched for the greatest sum of credit x weight / occasions of the item
  opened; then what is left in order of *a* and of the key, for a verdict alone.
"""

from __future__ import annotations

from collections.abc import Iterable

from simengine.scoring.card import EQUAL
from simengine.scoring.mark import Marked
from simengine.scoring.matching import best_matching
from simengine.scoring.occasion import Match, Occasion, candidates, serving
from simengine.scoring.plan import Plan
from simengine.scoring.resample import Resample, Run


def mark(plan: Plan, resample: Resample) -> list[Marked]:
    """Return every item of the key as marked in one resample, in the order of the key.

    What no recorded time can change is marked the first time and shared by the other resamples.
    """
    out: list[Marked] = []
    unsettled: list[Marked] = []
    by_action: dict[str, list[Occasion]] = {}
    constant: dict[int, Marked] = plan.constant
    for laid in plan.items:
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
        if laid.action is None:
            continue
        counting = [occasion for occasion in marked.occasions if occasion.reached]
        for occasion in counting:
            occasion.share = laid.weight / len(counting)
        if laid.action in by_action:
            by_action[laid.action].extend(counting)
        else:
            by_action[laid.action] = counting
    for action, occasions in by_action.items():
        if len(occasions) == 1:
            _match_one(resample, resample.runs(action), occasions[0])
        elif occasions:
            _match_many(resample, resample.runs(action), occasions)
    for marked in unsettled:
        if not marked.plan.guide.kind.last:
            marked.plan.guide.kind.settle(resample, marked)
    for marked in unsettled:
        if marked.plan.guide.kind.last:
            marked.plan.guide.kind.settle(resample, marked)
    return out


def total_of(marked: Iterable[Marked]) -> float | None:
    """Return the session's total, less deductions and floored at 0; ``None`` without weight."""
    got = weights = less = 0.0
    for one in marked:
        less += one.deducted
        if one.credit is not None:
            got += one.plan.weight * one.credit
            weights += one.plan.weight
    if weights == 0.0:
        return None
    return max(0.0, got / weights - less)


def _match_one(resample: Resample, runs: list[Run], occasion: Occasion) -> None:
    """Serve the only occasion that wants an action: by the best, the earliest among equals."""
    if not runs:
        return
    found = candidates(resample, occasion, runs, occasion.plan.item.accepts)
    best = occasion.free
    at_least = best.credit + EQUAL if best is not None else 0.0
    for _, match in found:
        if match.credit > at_least:
            best, at_least = match, match.credit + EQUAL
    if best is None and found:
        best = found[0][1]
    occasion.match = best
    if best is None:
        occasion.attempted = _attempted(runs, occasion)


def _match_many(resample: Resample, runs: list[Run], occasions: list[Occasion]) -> None:
    """Match the performances of one action with all occasions that want it."""
    occasions.sort(key=_opens)
    gains: list[dict[int, float]] = []
    possible: list[dict[int, Match]] = []
    for occasion in occasions:
        row: dict[int, float] = {}
        kept: dict[int, Match] = {}
        found = candidates(resample, occasion, runs, occasion.plan.item.accepts)
        at_least = occasion.free.credit if occasion.free is not None else 0.0
        for number, match in found:
            kept[number] = match
            if match.credit > at_least + EQUAL or (occasion.free is None and match.credit > 0.0):
                row[number] = (match.credit - at_least) * occasion.share
        gains.append(row)
        possible.append(kept)
    used: set[int] = set()
    for occasion, kept, taken in zip(occasions, possible, best_matching(gains), strict=True):
        if taken is not None:
            occasion.match = kept[taken]
            used.add(taken)
        else:
            occasion.match = occasion.free
    for occasion, kept in zip(occasions, possible, strict=True):
        if occasion.match is not None:
            continue
        for number, match in kept.items():
            if number not in used:
                occasion.match = match
                used.add(number)
                break
        else:
            occasion.attempted = _attempted(runs, occasion)


def _opens(occasion: Occasion) -> int:
    return occasion.at


def _attempted(runs: list[Run], occasion: Occasion) -> Run | None:
    """The first run in a way that does not count for an occasion."""
    ways = occasion.plan.item.accepts
    for run in runs:
        if run[3].way not in ways and serving(occasion, run) is not None:  # type: ignore[union-attr,operator]
            return run
    return None
