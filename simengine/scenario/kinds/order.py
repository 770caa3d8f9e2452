"""``order``: first performances are asked in this order."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Self

from simengine.scenario.forms import NAME, AnyForm, ListOf, given
from simengine.scenario.key_item import ACTIONS_ANY, Item

if TYPE_CHECKING:
    from simengine.scenario.checks.item_at import ItemAt
    from simengine.scenario.item_reader import ItemReader


@dataclass(frozen=True, slots=True, kw_only=True)
class Order(Item):
    """First performances are asked in this order; each member is any one of some actions."""

    kind = "order"

    members: tuple[tuple[str, ...], ...] = field(
        metadata=given(
            ListOf(AnyForm("an action, or {any: …}", NAME, ACTIONS_ANY), "a list of actions", 2),
            "Actions in the order in which they should first be done.",
            key="order",
        )
    )

    @property
    def actions(self) -> tuple[str, ...]:
        """All actions named, in order."""
        return tuple(action for member in self.members for action in member)

    @classmethod
    def read(cls, reader: ItemReader) -> Self:
        """Return one as it is written. What is wrong goes to the book of its place."""
        members: list[tuple[str, ...]] = []
        for place in reader.what.elements("a list of actions"):
            member = reader.actions(place)
            if any(name in before for before in members for name in member):
                place.say("each action once", "duplicate-name")
            members.append(member)
        return cls(**reader.fields, members=tuple(members))

    def named(self, reader: ItemReader) -> tuple[str, str]:
        """Name it after its actions in order."""
        labels = [reader.vocabulary.actions[name].label for name in self.actions]
        return self.actions[0], " before ".join(labels)

    def check(self, item_at: ItemAt) -> None:
        """Note an action that is named twice."""
        named = item_at.at.get("order")
        for number, action in enumerate(self.actions):
            if action in self.actions[:number] and named is not None:
                named.elements()[number].say("each action once", "duplicate-name")
