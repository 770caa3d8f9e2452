"""Whether something done at one instant belongs to the stays of ``during``.

At one ms people's events come before state entries, so what was done at the very ms of an entry
belongs to the state that is left; only the first state has none before it.
"""

from __future__ import annotations

from simengine.scoring.plan import ItemPlan


def done_within(plan: ItemPlan, instant: int) -> bool:
    """Whether a person's event at ``instant`` (ms) lies in the item's ``during``."""
    if not plan.item.during:
        return True
    return any(entry < instant <= exit_ or instant == entry == 0 for entry, exit_ in plan.during)
