"""How much is left of a supply at an instant of a finished session."""

from __future__ import annotations

from collections.abc import Sequence

from simengine.session.dynamics import level_at
from simengine.session.record import Level


def supply_at(levels: Sequence[Level], at_ms: float) -> float | None:
    """Return a supply's contents at an instant; ``None`` before its first level."""
    begun = [level for level in levels if level.start_ms <= at_ms]
    return level_at(begun[-1], at_ms) if begun else None
