"""``alternate``: two actions are to take turns; neither may follow itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Self

from simengine.scenario.forms import given, names_of
from simengine.scenario.key_item import Item

if TYPE_CHECKING:
    from simengine.scenario.checks.item_at import ItemAt
    from simengine.scenario.item_reader import ItemReader


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternate(Item):
    """Two actions are to take turns: neither may follow itself."""

    kind = "alternate"

    actions: tuple[str, ...] = field(
        metadata=given(names_of("action"), "Two actions that take turns.", key="alternate")
    )

    @classmethod
    def read(cls, reader: ItemReader) -> Self:
        """Return one as it is written. What is wrong goes to the book of its place."""
        item = cls(**reader.fields)
        if len(item.actions) != 2:
            reader.what.say("two actions", "two-actions", found=str(len(item.actions)))
        return item

    def named(self, reader: ItemReader) -> tuple[str, str]:
        """Name it after its actions."""
        labels = [reader.vocabulary.actions[action].label for action in self.actions]
        return self.actions[0], " and ".join(labels)

    def check(self, item_at: ItemAt) -> None:
        """Note an action that is to take turns with itself."""
        what = item_at.at.get("alternate")
        if len(set(self.actions)) == 1 and what is not None:
            what.say("two actions", "duplicate-name", level="warning")
