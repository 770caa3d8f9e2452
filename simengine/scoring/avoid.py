"""``avoid``: not advised here. No credit: a deduction from the session's total alone.

Rules of this file:

- Each time that the action is done within ``during`` is one occurrence.
- Each unbroken stretch in which the condition holds for ``lasting`` (at least, and longer than
  0 ms), cut to ``during``, is one occurrence.
"""

from __future__ import annotations

from simengine.scenario.key import AskedAction, Avoid
from simengine.scoring.draw import Draw, Run
from simengine.scoring.during import done_within
from simengine.scoring.plan import ItemPlan
from simengine.session.record import Interval


def occurrences(draw: Draw, plan: ItemPlan) -> list[tuple[Interval, Run | None]]:
    """Return each occurrence: its stretch (ms) and, for an action, the performance."""
    item = plan.item
    assert isinstance(item, Avoid)
    if isinstance(item.what, AskedAction):
        runs = draw.counting(item.what.action, item.accepts)
        return [((run.start, run.stop), run) for run in runs if done_within(plan, run.start)]
    assert plan.condition is not None
    return [
        (stretch, None)
        for entry, exit_ in plan.during
        for stretch in draw.truth(plan.condition, entry, exit_)
        if stretch[1] - stretch[0] >= (item.lasting_ms or 0)
    ]


def deduction(item: Avoid, number: int) -> float:
    """Return what ``number`` occurrences take from the total, a fraction of 1."""
    amount = item.deduct * number
    return amount if item.at_most is None else min(amount, item.at_most)
