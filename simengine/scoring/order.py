"""``order``: first performances are asked in this order.

Rules of this file:

- 0 if a later one was done and an earlier one never, or if first performances are out of order;
  else 1 if at least two were done or the last was; else not reached. Equal times are in order.
- Within ``during`` a performance belongs to the state that it was done in: one at the very ms of
  an entry belongs to the state that is left.
"""

from __future__ import annotations

from simengine.scenario.key import Order
from simengine.scoring.draw import Draw, Run
from simengine.scoring.during import done_within
from simengine.scoring.plan import ItemPlan


def first_runs(draw: Draw, plan: ItemPlan) -> list[Run | None]:
    """Return the first performance of each action, in the order asked."""
    item = plan.item
    assert isinstance(item, Order)
    return [
        next(
            (run for run in draw.counting(action, item.accepts) if done_within(plan, run.start)),
            None,
        )
        for action in item.actions
    ]


def order_credit(firsts: list[Run | None]) -> float | None:
    """Return 1, 0 or ``None`` (not reached)."""
    missing = False
    latest = -1
    done = 0
    for run in firsts:
        if run is None:
            missing = True
            continue
        if missing or run.start < latest:
            return 0.0
        latest = run.start
        done += 1
    if done >= 2 or firsts[-1] is not None:
        return 1.0
    return None
