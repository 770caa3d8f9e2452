"""``expect``: something is asked within a window from an anchor."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Self

from simengine.scenario.forms import FLAG, WHEN, given, names_of
from simengine.scenario.key_item import ANCHOR, ASKED, FOUND_SO, NOT_READ, Anchor, Asked, Windowed

if TYPE_CHECKING:
    from simengine.scenario.item_reader import ItemReader


@dataclass(frozen=True, slots=True, kw_only=True)
class Expect(Windowed):
    """Something is asked within a window from an anchor."""

    kind = "expect"

    asked: Asked = field(metadata=given(ASKED, "What is asked.", key="expect"))
    anchor: Anchor = field(
        metadata=given(ANCHOR, "What the window is counted from.", key="from", optional=True)
    )
    not_before_ms: int | None = field(
        default=None,
        metadata=given(
            WHEN,
            "Sooner earns nothing; negative: also before the anchor.",
            key="not_before",
            by_hand=True,
        ),
    )
    each: bool = field(
        default=False, metadata=given(FLAG, "true: every time that the anchor happens.")
    )
    must_reach: bool = field(
        default=False, metadata=given(FLAG, "true: scores 0 if the anchor never happens.")
    )
    until: tuple[str, ...] = field(
        default=(), metadata=given(names_of("state"), "States that close the window.")
    )
    as_found_counts: bool = field(default=False, metadata=FOUND_SO)

    @property
    def times_asked(self) -> Mapping[str, int]:
        """By their keys, the times in ms of which a protocol may speak."""
        return {"ideal": self.ideal_ms}

    @classmethod
    def read(cls, reader: ItemReader) -> Self:
        """Return one as it is written. What is wrong goes to the book of its place."""
        subject = reader.asked()
        ideal, latest = reader.window()
        early_at = reader.place.get("not_before")
        early = reader.time_at(early_at, negative=True)
        if early_at is not None and early is not None and early > ideal:
            early_at.say("'not_before' at or before 'ideal'", "not-before-after-ideal")
        return cls(
            **reader.fields,
            asked=subject or NOT_READ,
            anchor=reader.anchor(subject),
            ideal_ms=ideal,
            latest_ms=latest,
            not_before_ms=early,
            must=reader.must(),
            dose=reader.dose(subject),
        )
