"""Whether something done at one instant belongs to the stays of ``during``.

At one ms people's events come before state entries, so what was done at the very ms of an entry
belongs to the state that is left; only the first state has none before it.
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.scoring.plan import ItemPlan
from simengine.session.record import Interval


def done_within(where: ItemPlan | Sequence[Interval], instant: int) -> bool:
    """Whether a person's event at ``instant`` (ms) lies in an item's ``during``, or in stays."""
    if isinstance(where, ItemPlan):
        if not where.item.during:
            return True
        where = where.during
    return any(entry < instant <= exit_ or instant == entry == 0 for entry, exit_ in where)
