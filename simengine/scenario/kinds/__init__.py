"""The kinds of key item, in one list; of each its fields, how it is read, what can't be right."""

from __future__ import annotations

from collections.abc import Mapping

from simengine.scenario.key_item import Item
from simengine.scenario.kinds.avoid import Avoid
from simengine.scenario.kinds.expect import Expect
from simengine.scenario.kinds.keep import Keep
from simengine.scenario.kinds.order import Order
from simengine.scenario.kinds.repeat import Repeat
from simengine.scenario.kinds.respond import Respond

ITEM_KINDS: tuple[type[Item], ...] = (
    Expect,
    Respond,
    Repeat,
    Keep,
    Order,
    Avoid,
)
"""The one list of kinds: what an item of each is. All else follows from it."""

CLASSES: Mapping[str, type[Item]] = {owner.kind: owner for owner in ITEM_KINDS}
"""What an item of each kind is, by the kind's name."""
