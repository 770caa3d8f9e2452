"""A key item at its place, with the states in which it is asked."""

from __future__ import annotations

from collections.abc import Set
from functools import reduce
from math import inf
from typing import NamedTuple

from simengine.quantities import format_duration
from simengine.scenario.checks.known import NEVER, Known, earliest, surely
from simengine.scenario.checks.reach import Reach
from simengine.scenario.checks.reasons import why_never
from simengine.scenario.checks.walk import observed_in
from simengine.scenario.conditions import Condition
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

    def can_hold(
        self,
        place: Place | None,
        condition: Condition,
        code: str = "never-applies",
        hint: str = NEVER_SCORED,
    ) -> set[str]:
        """Return the states in which a condition can hold; say so if there are none."""
        scenario = self.reach.scenario
        holds = {
            name
            for name in self.states
            if earliest(condition, self.reach.known[name], scenario) < NEVER
        }
        at = place or self.at
        if not holds and self.states:
            names = [name for name in scenario.states if name in self.states]
            known = [self.reach.known[name] for name in names]
            both = reduce(Known.or_else, known)
            if earliest(condition, both, scenario) < NEVER:
                both = max(known, key=lambda single: len(single.shown))
            where = f"'{names[0]}'" if len(names) == 1 else "any of its states"
            at.say(
                f"a condition that can hold in {where}",
                code,
                found=why_never(condition, both, scenario),
                level="warning",
                hint=hint,
            )
            return holds
        shown = {name for state in scenario.states.values() for name in state.shows}
        for leaf in observed_in(condition):
            if leaf.observation not in shown:
                at.say(
                    f"an observation that some state shows ('{leaf.observation}' is shown by none)",
                    "never-shown",
                    found="",
                    level="warning",
                )
        return holds

    def always_holds(self, condition: Condition) -> bool:
        """Whether a condition surely holds for as long as the item is asked."""
        known = self.reach.known
        return all(surely(condition, known[name], self.reach.scenario) for name in self.states)

    def always_met(self, place: Place | None, expected: str) -> None:
        """Note that the item never tells teams apart."""
        (place or self.at).say(
            expected, "always-met", found="one that always holds there", level="warning"
        )

    def words(self, ms: float) -> str:
        """Tell a time in ms that may have no end."""
        return time_words(ms)


def time_words(ms: float) -> str:
    """Tell a time in ms that may have no end."""
    return format_duration(round(ms)) if ms < inf else "time"
