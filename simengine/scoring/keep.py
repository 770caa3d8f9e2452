"""``keep``: a condition is to hold for a share of the time.

Rules of this file:

- The share of the time in ``during`` in which the condition holds; a condition on something that
  is not known is false, and ``not`` of it true.
- As found: met in full by start settings that nobody had touched by the end of ``during``, where
  the condition names settings alone.
"""

from __future__ import annotations

from simengine.scenario.key import Keep
from simengine.scoring.draw import Draw
from simengine.scoring.plan import ItemPlan


def time_kept(draw: Draw, plan: ItemPlan) -> tuple[int, int]:
    """Return (ms in which the condition held, ms in ``during``)."""
    assert plan.condition is not None
    held = total = 0
    for entry, exit_ in plan.during:
        total += exit_ - entry
        held += sum(stop - start for start, stop in draw.truth(plan.condition, entry, exit_))
    return held, total


def is_as_found(draw: Draw, plan: ItemPlan) -> bool:
    """Whether nobody had touched the settings that a met condition rests on."""
    item = plan.item
    assert isinstance(item, Keep)
    if item.as_found_counts or not plan.guide.names.only_settings or not plan.during:
        return False
    last = plan.during[-1][1]
    return not any(
        step.change.touched and step.at < last
        for setting in plan.guide.names.settings
        for step in draw.steps(setting)[1]
    )
