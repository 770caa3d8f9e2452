"""The array form of ``keep``."""

from __future__ import annotations

import numpy as np

from simengine.scenario.key import Keep
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.stretches import Flags, clipped, together
from simengine.scoring.at_once.table import CODE, MarkedRedraws
from simengine.scoring.at_once.truths import truth
from simengine.scoring.card import EQUAL
from simengine.scoring.plan import ItemPlan
from simengine.scoring.totals import TEAM
from simengine.session.record import NEVER


def mark(redraws: Resamples, table: MarkedRedraws, plan: ItemPlan) -> bool:
    """Mark the item in every redraw."""
    item, index = plan.item, plan.index
    assert isinstance(item, Keep)
    assert plan.condition is not None
    known = redraws.same(0)
    for setting in plan.guide.asked_settings:
        first = redraws.steps(setting).start.min(axis=0, initial=NEVER)
        known = np.maximum(known, first)
    held, total = redraws.same(0), redraws.same(0)
    where = truth(redraws, plan.condition)
    for entry, exit_ in plan.during:
        since = np.maximum(known, entry)
        total += np.maximum(exit_ - since, 0)
        held += together(clipped(where, since, exit_))
    counts = total > 0
    credit = np.minimum(1.0, held / np.maximum(total, 1) / item.share)
    met = counts & (credit >= 1.0 - EQUAL)
    if met.any():
        counts = counts & ~(met & _is_as_found(redraws, plan, item))
    table.give_share(index, np.where(counts, credit, np.nan))
    if plan.during:
        table.verdict[index] = np.where(total == 0, CODE["not recorded"], table.verdict[index])
    table.as_a_whole(plan, item.role or TEAM)
    return True


def _is_as_found(redraws: Resamples, plan: ItemPlan, item: Keep) -> Flags:
    """Whether nobody had touched the settings that a met condition rests on."""
    if item.as_found_counts or not plan.guide.only_settings or not plan.during:
        return redraws.flags()
    last = plan.during[-1][1]
    as_found = redraws.flags(value=True)
    for setting in plan.guide.asked_settings:
        steps = redraws.steps(setting)
        as_found &= ~(~steps.of(steps.found) & (steps.start < last)).any(axis=0)
    return as_found
