"""The kinds of key item, each in a file of its own: how one is marked, and what is said of it.

Rules of this file:

- A kind of ``CLASSES`` has a file of its name here, which holds it as ``KIND``, and may have a
  second, ``…_arrays``, which marks all redraws of a session at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import Any

from simengine.scenario.key import Item
from simengine.scenario.kinds import CLASSES
from simengine.scenario.model import Scenario
from simengine.scoring.kinds.kind import ItemKind
from simengine.scoring.what_is_asked import during_words

KINDS: Mapping[type[Item], ItemKind[Any]] = {
    owner: import_module(f"{__name__}.{kind}").KIND for kind, owner in CLASSES.items()
}


def item_asked(scenario: Scenario, item: Item) -> str:
    """Return one sentence (or two) that says what an item asks."""
    return f"{KINDS[type(item)].asks(item, scenario)}{during_words(scenario, item)}."


__all__ = ["KINDS", "ItemKind", "item_asked"]
