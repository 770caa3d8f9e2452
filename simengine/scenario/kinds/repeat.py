"""``repeat``: an action, or that the team knows an observation, is asked again and again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Self

from simengine.quantities import format_duration
from simengine.scenario.forms import FLAG, WHEN, given
from simengine.scenario.key_item import (
    ASKED_AGAIN,
    NOT_READ,
    AskedAction,
    AskedKnowledge,
    Item,
    asked_name,
)

if TYPE_CHECKING:
    from simengine.scenario.checks.item_at import ItemAt
    from simengine.scenario.item_reader import ItemReader


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat(Item):
    """An action is asked again and again, or that the team knows an observation.

    ``spoken``: a performance counts only with the value told, unless a sensor streams it.
    """

    kind = "repeat"

    asked: AskedAction | AskedKnowledge = field(
        metadata=given(ASKED_AGAIN, "What is asked again and again.", key="repeat")
    )
    every_ms: int = field(metadata=given(WHEN, "How often.", key="every"))
    grace_ms: int = field(default=0, metadata=given(WHEN, "How late it may be.", key="grace"))
    spoken: bool = field(
        default=False, metadata=given(FLAG, "true: counts only with the value told.")
    )

    @property
    def times_asked(self) -> Mapping[str, int]:
        """By their keys, the times in ms of which a protocol may speak."""
        return {"every": self.every_ms}

    @classmethod
    def read(cls, reader: ItemReader) -> Self:
        """Return one as it is written. What is wrong goes to the book of its place."""
        subject = reader.asked_again() or NOT_READ
        item = cls(**reader.fields, asked=subject)
        every, spoken = reader.place.get("every"), reader.place.get("spoken")
        if every is not None and every.is_sound() and item.every_ms == 0:
            every.say("a time above 0 s", "zero-time")
        action = (
            subject.action if isinstance(subject, AskedAction) and subject is not NOT_READ else None
        )
        reads = reader.vocabulary.actions[action].reads if action is not None else None
        if spoken is not None and item.spoken and action is not None and reads is None:
            spoken.say(
                "an action that reads an observation",
                "spoken-unread",
                found=f"'{action}', which reads none",
            )
        return item

    def named(self, reader: ItemReader) -> tuple[str, str]:
        """Name it after what it asks, and how often, as the protocol in use has it."""
        name, often = asked_name(self.asked), f"every {format_duration(self.every_ms)}"
        if isinstance(self.asked, AskedAction):
            return name, f"{reader.vocabulary.actions[name].label}, {often}"
        return name, f"{reader.vocabulary.observations[name].label} reassessed {often}"

    def check(self, item_at: ItemAt) -> None:
        """Note a stay that ends before it is asked again."""
        longest = item_at.reach.longest_within(item_at.states)
        if longest <= self.every_ms + self.grace_ms:
            item_at.never(
                item_at.at.get("every"),
                f"'every' and 'grace' of less than the {item_at.words(longest)} that the stay "
                "can last",
            )
