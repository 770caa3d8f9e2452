"""Marking one draw: the credit and verdict of every item, and what they rest on.

Rules of this file:

- This is the one way in which a session is marked: the score of the record and of each redraw
  come from here, and evidence and sentences are told from what is found here.
- Only performances of actions are used up, over all items that want the same action. Pairs with
  credit above 0 are matched for the greatest sum of credit x weight / occasions of the item
  opened; then what is left in order of *a* and of the key, for a verdict alone.
- An item's credit is the mean over its occasions that count; its verdict that of the occasion
  with the lowest credit, and among equals the word that comes first in ``WORST_FIRST``.
"""

from __future__ import annotations

from collections.abc import Iterable

from simengine.scenario.key import (
    AskedAction,
    AskedFault,
    AskedSetting,
    Avoid,
    Expect,
    Keep,
    Order,
    Repeat,
    Respond,
)
from simengine.scoring.asking import (
    Asking,
    Served,
    candidates,
    serving,
    verdict_of,
)
from simengine.scoring.avoid import deduction, occurrences
from simengine.scoring.card import Verdict
from simengine.scoring.changes_asked import base_unknown, fault_runs, setting_runs
from simengine.scoring.cued import occasion_is_cued, run_is_cued
from simengine.scoring.draw import Draw, Run
from simengine.scoring.during import done_within
from simengine.scoring.expect import expect_occasions
from simengine.scoring.keep import is_as_found, time_kept
from simengine.scoring.matching import best_matching
from simengine.scoring.order import first_runs, order_credit
from simengine.scoring.plan import ItemPlan, Plan
from simengine.scoring.repeat import coverage
from simengine.scoring.respond import respond_occasions
from simengine.session.record import Interval

WORST_FIRST: tuple[Verdict, ...] = (
    "missed",
    "attempted",
    "too late",
    "early",
    "not recorded",
    "setting off",
    "late",
    "on time",
)
_RANK = {verdict: rank for rank, verdict in enumerate(WORST_FIRST)}
EQUAL = 1e-9


class Marked:
    """An item as marked in one draw. ``credit`` is ``None`` where it is not reached.

    ``why``: a word for why it is not reached. ``runs``: what ``repeat`` and ``order`` rest on.
    ``part`` of ``whole`` ms for ``repeat`` and ``keep``. ``deducted``: a fraction of 1.
    """

    __slots__ = (
        "askings",
        "credit",
        "cued",
        "deducted",
        "occurred",
        "part",
        "plan",
        "runs",
        "verdict",
        "whole",
        "why",
    )

    def __init__(self, plan: ItemPlan) -> None:
        self.plan = plan
        self.credit: float | None = None
        self.verdict: Verdict = "not reached"
        self.why = ""
        self.cued = False
        self.askings: list[Asking] = []
        self.runs: list[Run | None] = []
        self.part: int | None = None
        self.whole: int | None = None
        self.occurred: list[tuple[Interval, Run | None]] = []
        self.deducted = 0.0


def mark(plan: Plan, draw: Draw) -> list[Marked]:
    """Return every item of the key as marked in one draw, in the order of the key.

    What no recorded time can change is marked in the first draw of a plan and shared by the others.
    """
    out: list[Marked] = []
    asking_items: list[Marked] = []
    by_action: dict[str, list[Asking]] = {}
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
        kind = laid.kind
        if kind in ("expect", "respond"):
            asking_items.append(marked)
            if kind == "expect":
                marked.askings = expect_occasions(draw, laid)
            else:
                marked.askings = respond_occasions(draw, laid)
            if laid.action is None:
                _serve_changes(draw, marked)
                continue
            counting = [asking for asking in marked.askings if asking.reached]
            for asking in counting:
                asking.share = laid.weight / len(counting)
            if laid.action in by_action:
                by_action[laid.action].extend(counting)
            else:
                by_action[laid.action] = counting
        else:
            _MARK[kind](draw, marked)
    for action, askings in by_action.items():
        if len(askings) == 1:
            _serve_one(draw, draw.runs(action), askings[0])
        elif askings:
            _serve_many(draw, draw.runs(action), askings)
    for marked in asking_items:
        _settle(draw, marked)
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


def _serve_one(draw: Draw, runs: list[Run], asking: Asking) -> None:
    """Serve the only occasion that wants an action: by the best, the earliest among equals."""
    if not runs:
        return
    found = candidates(draw, asking, runs, asking.plan.item.accepts)
    best = asking.free
    at_least = best.credit + EQUAL if best is not None else 0.0
    for _, served in found:
        if served.credit > at_least:
            best, at_least = served, served.credit + EQUAL
    if best is None and found:
        best = found[0][1]
    asking.served = best
    if best is None:
        asking.attempted = _attempted(runs, asking)


def _serve_many(draw: Draw, runs: list[Run], askings: list[Asking]) -> None:
    """Match the performances of one action with all occasions that want it."""
    askings.sort(key=_opens)
    gains: list[dict[int, float]] = []
    possible: list[dict[int, Served]] = []
    for asking in askings:
        row: dict[int, float] = {}
        kept: dict[int, Served] = {}
        found = candidates(draw, asking, runs, asking.plan.item.accepts)
        at_least = asking.free.credit if asking.free is not None else 0.0
        for number, served in found:
            kept[number] = served
            if served.credit > at_least + EQUAL or (asking.free is None and served.credit > 0.0):
                row[number] = (served.credit - at_least) * asking.share
        gains.append(row)
        possible.append(kept)
    used: set[int] = set()
    for asking, kept, taken in zip(askings, possible, best_matching(gains), strict=True):
        if taken is not None:
            asking.served = kept[taken]
            used.add(taken)
        else:
            asking.served = asking.free
    for asking, kept in zip(askings, possible, strict=True):
        if asking.served is not None:
            continue
        for number, served in kept.items():
            if number not in used:
                asking.served = served
                used.add(number)
                break
        else:
            asking.attempted = _attempted(runs, asking)


def _opens(asking: Asking) -> int:
    return asking.at


def _attempted(runs: list[Run], asking: Asking) -> Run | None:
    """The first run in a way that does not count for an occasion."""
    ways = asking.plan.item.accepts
    for run in runs:
        if run[3].way not in ways and serving(asking, run) is not None:  # type: ignore[union-attr,operator]
            return run
    return None


def _serve_changes(draw: Draw, marked: Marked) -> None:
    """Serve occasions that ask for a setting or a fault: one change serves all that it meets."""
    item = marked.plan.item
    assert isinstance(item, Expect | Respond)
    asked = item.asked
    for asking in marked.askings:
        if not asking.reached:
            continue
        if isinstance(asked, AskedSetting):
            runs = setting_runs(draw, asking, asked)
        else:
            assert isinstance(asked, AskedFault)
            runs = fault_runs(draw, asked)
        as_found = False
        if isinstance(item, Expect) and not item.as_found_counts:
            left = [run for run in runs if not run.as_found]
            as_found = len(left) < len(runs) and any(
                (found := serving(asking, run)) is not None and found.in_force
                for run in runs
                if run.as_found
            )
            runs = left
        best: Served | None = None
        for _, served in candidates(draw, asking, runs):
            if best is None or served.credit > best.credit + EQUAL:
                best = served
        free = asking.free
        if free is not None and (best is None or free.credit >= best.credit - EQUAL):
            best = free
        if as_found and (best is None or best.credit == 0.0):
            asking.reached, asking.why = False, "as found"
            continue
        asking.served = best
        if best is None and isinstance(asked, AskedSetting) and base_unknown(draw, asking, asked):
            asking.why = "no value"


def _settle(draw: Draw, marked: Marked) -> None:
    """Give each occasion its verdict, and the item its credit."""
    item: Expect | Respond = marked.plan.item  # type: ignore[assignment]
    askings = marked.askings
    if not askings:
        if type(item) is Expect and item.must_reach:
            marked.credit, marked.verdict, marked.why = 0.0, "missed", "never came"
        else:
            marked.why = "no occasion"
        return
    total = 0.0
    number = 0
    worst_credit, worst_rank = 2.0, 0
    cues = draw.plan.cues and marked.plan.guide.prompts in draw.plan.cues
    for place, asking in enumerate(askings):
        served = asking.served
        if served is None and asking.reached and asking.close < asking.at + item.ideal_ms:
            asking.reached, asking.why = False, asking.closes_for
        if not asking.reached:
            asking.verdict = "not reached"
            continue
        verdict = asking.verdict = verdict_of(asking)
        credit = 0.0 if served is None else served.credit
        total += credit
        number += 1
        rank = _RANK[verdict]
        if credit < worst_credit - EQUAL or (rank < worst_rank and credit <= worst_credit + EQUAL):
            worst_credit, worst_rank, marked.verdict = credit, rank, verdict
        if cues and not marked.cued:
            marked.cued = occasion_is_cued(draw, askings, place)
    if number:
        marked.credit = total / number
    else:
        marked.why = askings[0].why


def _share(marked: Marked, credit: float) -> None:
    marked.credit = credit
    if credit >= 1.0 - EQUAL:
        marked.verdict = "kept"
    else:
        marked.verdict = "partly" if credit > 0.0 else "missed"


def _mark_repeat(draw: Draw, marked: Marked) -> None:
    item = marked.plan.item
    assert isinstance(item, Repeat)
    assert isinstance(item.asked, AskedAction)
    action = item.asked.action
    covered, counted, runs = coverage(draw, marked.plan)
    if not counted:
        marked.why = "no occasion"
        return
    marked.part, marked.whole = covered, counted
    marked.runs = list(runs)
    _share(marked, covered / counted)
    if not runs and any(
        run.source.way not in item.accepts and done_within(marked.plan, run.start)  # type: ignore[union-attr,operator]
        for run in draw.runs(action)
    ):
        marked.verdict = "attempted"
    if draw.plan.cues:
        marked.cued = any(
            done_within(marked.plan, run.start) and run_is_cued(draw, action, run) for run in runs
        )


def _mark_keep(draw: Draw, marked: Marked) -> None:
    item = marked.plan.item
    assert isinstance(item, Keep)
    held, total = time_kept(draw, marked.plan)
    if not total:
        marked.why = "no occasion"
        return
    marked.part, marked.whole = held, total
    credit = min(1.0, held / total / item.share)
    if credit >= 1.0 - EQUAL and is_as_found(draw, marked.plan):
        marked.why = "as found"
        return
    _share(marked, credit)


def _mark_order(draw: Draw, marked: Marked) -> None:
    item = marked.plan.item
    assert isinstance(item, Order)
    firsts = first_runs(draw, marked.plan)
    marked.runs = firsts
    marked.credit = order_credit(firsts)
    if marked.credit is None:
        marked.why = "no occasion"
        return
    marked.verdict = "in order" if marked.credit else "out of order"
    if draw.plan.cues:
        marked.cued = any(
            run is not None and run_is_cued(draw, action, run)
            for action, run in zip(item.actions, firsts, strict=True)
        )


def _mark_avoid(draw: Draw, marked: Marked) -> None:
    item = marked.plan.item
    assert isinstance(item, Avoid)
    marked.occurred = occurrences(draw, marked.plan)
    marked.verdict = "done in error" if marked.occurred else "not done"
    marked.deducted = deduction(item, len(marked.occurred))


_MARK = {"repeat": _mark_repeat, "keep": _mark_keep, "order": _mark_order, "avoid": _mark_avoid}
