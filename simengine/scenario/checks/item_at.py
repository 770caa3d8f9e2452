"""A key item at its place, with the states in which it is asked."""

from __future__ import annotations

from collections.abc import Set
from math import inf
from typing import NamedTuple

from simengine.quantities import format_duration
from simengine.scenario.checks.reach import Reach
from simengine.scenario.place import Place

NEVER_SCORED = "this item can never be scored"


class ItemAt(NamedTuple):
    """An item at its place; ``states``: those of its ``during`` that can be entered."""

    at: Place
    reach: Reach
    states: Set[str]

    def never(self, place: Place | None, expected: str, found: str | None = None) -> None:
        """Note that the item can never apply."""
        (place or self.at).say(
            expected, "never-applies", found=found, level="warning", hint=NEVER_SCORED
        )


def time_words(ms: float) -> str:
    """Tell a time in ms that may have no end."""
    return format_duration(round(ms)) if ms < inf else "time"
