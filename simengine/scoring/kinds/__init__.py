"""The kinds of key item, each in a file of its own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from simengine.scenario.key import Avoid, Expect, Item, Keep, Order, Repeat, Respond
from simengine.scenario.model import Scenario
from simengine.scoring.kinds.avoid import AvoidKind
from simengine.scoring.kinds.expect import ExpectKind
from simengine.scoring.kinds.keep import KeepKind
from simengine.scoring.kinds.kind import ItemKind
from simengine.scoring.kinds.order import OrderKind
from simengine.scoring.kinds.repeat import RepeatKind
from simengine.scoring.kinds.respond import RespondKind
from simengine.scoring.what_is_asked import during_words

KINDS: Mapping[type[Item], ItemKind[Any]] = {
    Expect: ExpectKind(),
    Respond: RespondKind(),
    Repeat: RepeatKind(),
    Keep: KeepKind(),
    Order: OrderKind(),
    Avoid: AvoidKind(),
}


def item_asked(scenario: Scenario, item: Item) -> str:
    """Return one sentence (or two) that says what an item asks."""
    return f"{KINDS[type(item)].asks(item, scenario)}{during_words(scenario, item)}."


__all__ = ["KINDS", "ItemKind", "item_asked"]
