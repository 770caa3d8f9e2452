"""Key items that can never apply, never be met, or never tell teams apart.

Rules of this file:

- All are warnings: what can't be scored leaves both sums and harms none, and a facilitator's hand
  or another protocol may bring it about.
- A window that closes before its ``ideal`` leaves nothing to be missed.
- All is judged by the longest that stays can last; see ``reach`` for what is left out.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import reduce
from typing import Any

from simengine.scenario.checks.item_at import NEVER_SCORED, ItemAt, time_words
from simengine.scenario.checks.known import NEVER, Known, earliest, surely
from simengine.scenario.checks.reach import Reach
from simengine.scenario.checks.reasons import why_never
from simengine.scenario.checks.walk import observed_in
from simengine.scenario.checks.windows import check_expect
from simengine.scenario.conditions import All, Condition, Doing, leaves
from simengine.scenario.key import (
    AskedKnowledge,
    Avoid,
    Expect,
    Item,
    Keep,
    Order,
    Repeat,
    Respond,
    Windowed,
)
from simengine.scenario.place import Place
from simengine.scenario.read_scenario import Read
from simengine.scenario.wanted import AsShown


def check_items(read: Read, reach: Reach) -> None:
    """Note what is wrong with the items of the key."""
    for item, place in read.key_places:
        during = place.get("during")
        named = [name for name in item.during if name not in reach.known]
        states = (set(item.during) or reach.known.keys()) & reach.known.keys()
        item_at = ItemAt(place, reach, states)
        if named and not states:
            names = ", ".join(f"'{name}'" for name in named)
            item_at.never(during, "a state that can be entered", f"{names}, which can't be")
            continue
        if isinstance(item, Windowed):
            _knowledge(item_at, item)
            _gauges(item_at, item)
        check = CHECKS.get(type(item))
        if check is not None:
            check(item_at, item)


def _respond(item_at: ItemAt, item: Respond) -> None:
    whenever = item_at.at.get("whenever")
    if whenever is not None and any(
        isinstance(leaf, Doing) for leaf in leaves(item.whenever, now=True)
    ):
        whenever.say(
            "a condition on the baby",
            "whenever-doing",
            found="'doing'",
            level="warning",
            hint="'doing' is needed for it to begin, not for it to go on",
        )
    holds = _can_hold(item_at, whenever, item.whenever)
    if not holds:
        return
    longest = item_at.reach.longest_within(holds)
    lasting, ideal = item_at.at.get("lasting"), item_at.at.get("ideal")
    if longest <= item.lasting_ms:
        item_at.never(
            lasting or whenever, f"less than the {time_words(longest)} that this condition can last"
        )
    elif (
        longest < item.lasting_ms + item.ideal_ms
        and not item.even_if_resolved
        and ideal is not None
    ):
        left = longest - item.lasting_ms
        ideal.say(
            f"at most the {time_words(left)} for which the condition can go on",
            "window-outlasts-state",
            level="warning",
            hint="it ends before, so nothing is ever missed: say 'even_if_resolved: true'",
        )


def _knowledge(item_at: ItemAt, item: Windowed) -> None:
    """An ``ideal`` by which no reading can be there."""
    asked, ideal = item.asked, item_at.at.get("ideal")
    if not isinstance(asked, AskedKnowledge) or ideal is None:
        return
    revealed_by = item_at.reach.scenario.vocabulary.observations[asked.observation].revealed_by
    quickest = min((by.delay_ms for by in revealed_by), default=0)
    if item.ideal_ms < quickest:
        ideal.say(
            f"at least the {time_words(quickest)} that the quickest reading of "
            f"'{asked.observation}' takes",
            "ideal-before-reading",
            level="warning",
            hint="only a team that looked before is in time",
        )


def _gauges(item_at: ItemAt, item: Windowed) -> None:
    """Note a gauge that shows nothing: nobody follows what is in its supply."""
    settings = item_at.at.get("settings")
    for name, wanted in item.settings.items():
        if (
            settings is not None
            and isinstance(wanted, AsShown)
            and wanted.supply not in item_at.reach.scenario.start.supplies
        ):
            settings.key(name).say(
                f"a supply that the scenario starts with ('{wanted.supply}' is none)",
                "never-shown",
                found="",
                level="warning",
            )


def _repeat(item_at: ItemAt, item: Repeat) -> None:
    longest = item_at.reach.longest_within(item_at.states)
    if longest <= item.every_ms + item.grace_ms:
        item_at.never(
            item_at.at.get("every"),
            f"'every' and 'grace' of less than the {time_words(longest)} that the stay can last",
        )


def _keep(item_at: ItemAt, item: Keep) -> None:
    keep = item_at.at.get("keep")
    if item_at.reach.longest_within(item_at.states) == 0.0:
        item_at.never(
            item_at.at.get("during") or keep, "a state that lasts", "none: the session closes"
        )
        return
    if not _can_hold(item_at, keep, item.condition, "never-met", "it can't be kept by anybody"):
        return
    if all(_sure(item.condition, name, item_at.reach) for name in item_at.states):
        (keep or item_at.at).say(
            "a condition that a team can break",
            "always-met",
            found="one that always holds there",
            level="warning",
        )


def _avoid(item_at: ItemAt, item: Avoid) -> None:
    avoid = item_at.at.get("avoid")
    parts = [part for part in (item.condition, item.only_while) if part is not None]
    condition = parts[0] if len(parts) == 1 else All(tuple(parts))
    lasting_ms = item.lasting_ms or 0
    if not parts:
        if item_at.reach.longest_within(item_at.states) == 0.0:
            item_at.never(item_at.at.get("during") or avoid, "a state that lasts", "none")
        return
    holds = _can_hold(item_at, avoid, condition)
    if not holds:
        return
    longest = item_at.reach.longest_within(holds)
    if longest < lasting_ms:
        item_at.never(
            item_at.at.get("lasting") or avoid,
            f"at most the {time_words(longest)} that this condition can last",
        )
    elif all(_sure(condition, name, item_at.reach) for name in item_at.states):
        (avoid or item_at.at).say(
            "a condition that a team can avoid",
            "always-met",
            found="one that always holds there",
            level="warning",
        )


def _order(item_at: ItemAt, item: Order) -> None:
    named = item_at.at.get("order")
    for number, action in enumerate(item.actions):
        if action in item.actions[:number] and named is not None:
            named.elements()[number].say("each action once", "duplicate-name")


CHECKS: dict[type[Item], Callable[[ItemAt, Any], None]] = {
    Expect: check_expect,
    Respond: _respond,
    Repeat: _repeat,
    Keep: _keep,
    Avoid: _avoid,
    Order: _order,
}
"""What can't be right about an item of a kind; a kind of which nothing more is known has none."""


def _can_hold(
    item_at: ItemAt,
    place: Place | None,
    condition: Condition,
    code: str = "never-applies",
    hint: str = NEVER_SCORED,
) -> set[str]:
    """Return the states in which a condition can hold; say so if there are none."""
    scenario = item_at.reach.scenario
    holds = {
        name
        for name in item_at.states
        if earliest(condition, item_at.reach.known[name], scenario) < NEVER
    }
    at = place or item_at.at
    if not holds and item_at.states:
        names = [name for name in scenario.states if name in item_at.states]
        known = [item_at.reach.known[name] for name in names]
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


def _sure(condition: Condition, state: str, reach: Reach) -> bool:
    return surely(condition, reach.known[state], reach.scenario)
