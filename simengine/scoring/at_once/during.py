"""Whether what was done lies in the stays of ``during``: the array form of ``during``."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simengine.scoring.at_once.stretches import Flags, Ints
from simengine.scoring.plan import ItemPlan
from simengine.session.record import Interval


def done_within(plan: ItemPlan, at: Ints) -> Flags:
    """Whether people's events at ``at`` (ms) lie in an item's ``during``."""
    if not plan.item.during:
        return np.ones(at.shape, np.bool_)
    return in_stays(plan.during, at)


def in_stays(stays: Sequence[Interval], at: Ints) -> Flags:
    """Whether people's events at ``at`` (ms) lie in some stays."""
    inside: Flags = np.zeros(at.shape, np.bool_)
    for entry, exit_ in stays:
        inside |= (entry < at) & (at <= exit_)
        if entry == 0:
            inside |= at == 0
    return inside
