"""``respond``: something is asked each time that a condition has held for a while."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Self

from simengine.scenario.conditions import CONDITION, Condition, Doing, leaves
from simengine.scenario.forms import FLAG, WHEN, given
from simengine.scenario.key_item import ASKED, NOT_READ, Asked, Windowed

if TYPE_CHECKING:
    from simengine.scenario.checks.item_at import ItemAt
    from simengine.scenario.item_reader import ItemReader


@dataclass(frozen=True, slots=True, kw_only=True)
class Respond(Windowed):
    """Something is asked each time that a condition has held for a while.

    ``ahead``: before the condition began.
    """

    kind = "respond"

    asked: Asked = field(metadata=given(ASKED, "What is asked.", key="respond"))
    whenever: Condition = field(metadata=given(CONDITION, "Each time that this holds."))
    lasting_ms: int = field(
        metadata=given(
            WHEN, "It has held for this long.", key="lasting", optional=True, otherwise=0
        )
    )
    unseen: bool = field(
        default=False, metadata=given(FLAG, "true: also before the team has a reading.")
    )
    even_if_resolved: bool = field(
        default=False, metadata=given(FLAG, "true: also if the condition ends first.")
    )

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """The conditions that it rests on."""
        return (self.whenever,)

    @property
    def times_asked(self) -> Mapping[str, int]:
        """By their keys, the times in ms of which a protocol may speak."""
        return {"lasting": self.lasting_ms}

    @classmethod
    def read(cls, reader: ItemReader) -> Self:
        """Return one as it is written. What is wrong goes to the book of its place."""
        subject = reader.asked()
        ideal, latest = reader.window()
        return cls(
            **reader.fields,
            asked=subject or NOT_READ,
            ideal_ms=ideal,
            latest_ms=latest,
            must=reader.must(),
            dose=reader.dose(subject),
        )

    def check(self, item_at: ItemAt) -> None:
        """Note a condition that never lasts, or ends before anything can be missed."""
        whenever = item_at.at.get("whenever")
        if whenever is not None and any(
            isinstance(leaf, Doing) for leaf in leaves(self.whenever, now=True)
        ):
            whenever.say(
                "a condition on the baby",
                "whenever-doing",
                found="'doing'",
                level="warning",
                hint="'doing' is needed for it to begin, not for it to go on",
            )
        holds = item_at.can_hold(whenever, self.whenever)
        if not holds:
            return
        longest = item_at.reach.longest_within(holds)
        lasting, ideal = item_at.at.get("lasting"), item_at.at.get("ideal")
        if longest <= self.lasting_ms:
            item_at.never(
                lasting or whenever,
                f"less than the {item_at.words(longest)} that this condition can last",
            )
        elif (
            longest < self.lasting_ms + self.ideal_ms
            and not self.even_if_resolved
            and ideal is not None
        ):
            left = longest - self.lasting_ms
            ideal.say(
                f"at most the {item_at.words(left)} for which the condition can go on",
                "window-outlasts-state",
                level="warning",
                hint="it ends before, so nothing is ever missed: say 'even_if_resolved: true'",
            )
