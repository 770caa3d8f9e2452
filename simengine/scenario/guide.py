"""What the debrief asks of the marking guide: the conditions in it, and its windows.

Rules of this file: nothing is scored here, and nothing is known by name.
"""

from __future__ import annotations

from simengine.scenario.conditions import Condition
from simengine.scenario.key import Avoid, Expect, Keep, KeyItem, Respond


def item_conditions(item: KeyItem) -> list[Condition]:
    """Return the conditions that an item rests on."""
    if isinstance(item, Respond):
        return [item.whenever]
    if isinstance(item, Keep):
        return [item.condition]
    if isinstance(item, Avoid):
        return [part for part in (item.condition, item.only_while) if part is not None]
    return []


def window(item: KeyItem) -> tuple[int, int]:
    """Return (ideal, latest) in ms after an occasion opens; (0, 0) where none is asked."""
    return (item.ideal_ms, item.latest_ms) if isinstance(item, Expect | Respond) else (0, 0)
