"""``keep``: a condition is to hold for a share of the time."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Self

from simengine.scenario.conditions import CONDITION, Condition
from simengine.scenario.forms import SHARE, given
from simengine.scenario.key_item import FOUND_SO, Item

if TYPE_CHECKING:
    from simengine.scenario.checks.item_at import ItemAt
    from simengine.scenario.item_reader import ItemReader


@dataclass(frozen=True, slots=True, kw_only=True)
class Keep(Item):
    """A condition is to hold for a share of the time."""

    kind = "keep"

    condition: Condition = field(metadata=given(CONDITION, "What is to hold.", key="keep"))
    share: float = field(default=1.0, metadata=given(SHARE, "The share of the time that is asked."))
    as_found_counts: bool = field(default=False, metadata=FOUND_SO)

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """The conditions that it rests on."""
        return (self.condition,)

    @property
    def kept(self) -> Condition:
        """The condition that it asks to hold."""
        return self.condition

    @classmethod
    def read(cls, reader: ItemReader) -> Self:
        """Return one as it is written. What is wrong goes to the book of its place."""
        item = cls(**reader.fields)
        share = reader.place.get("share")
        if share is not None and item.share == 0:
            share.say("a share above 0 %", "share")
        return item

    def named(self, reader: ItemReader) -> tuple[str, str]:
        """Name it after its condition."""
        return reader.condition_name(self.condition), reader.condition_words(self.condition)

    def check(self, item_at: ItemAt) -> None:
        """Note a condition that nobody can keep, or break."""
        keep = item_at.at.get("keep")
        if item_at.reach.longest_within(item_at.states) == 0.0:
            item_at.never(
                item_at.at.get("during") or keep, "a state that lasts", "none: the session closes"
            )
            return
        hint = "it can't be kept by anybody"
        if not item_at.can_hold(keep, self.condition, "never-met", hint):
            return
        if item_at.always_holds(self.condition):
            item_at.always_met(keep, "a condition that a team can break")
