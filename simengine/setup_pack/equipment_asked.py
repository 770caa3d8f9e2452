"""What a scenario asks of the equipment: which actions it turns on, and how things should be set.

Rules of this file:

- A setting "as it should be" comes from the marking guide alone: what is asked of it before or at
  time zero, what puts a fault right, what is asked of it as an action begins (the oxygen of the
  first breath), or what the first action that carries it asks.
- Each comes with the protocol value behind it, where there is one.
"""

from __future__ import annotations

from dataclasses import dataclass

from simengine.scenario.conditions import Condition, Doing, Done, leaves
from simengine.scenario.key import AskedKnowledge, AskedSetting
from simengine.scenario.model import Infant, MendedBySetting, Scenario
from simengine.scenario.protocol import ProtocolRow, ProtocolValue
from simengine.scenario.wanted import AsShown, Wanted


def actions_of(scenario: Scenario) -> frozenset[str]:
    """Return the actions that the marking guide, the states or the faults turn on."""
    actions: set[str] = set(scenario.start.doing)
    for item in scenario.key:
        actions.update(item.actions, item.not_advised)
        if isinstance(item.asked, AskedKnowledge):
            actions.update(scenario.vocabulary.revealing(item.asked.observation))
        if item.kept is not None:
            actions |= _in(item.kept)
    for state in scenario.states.values():
        for transition in state.next:
            if transition.when is not None:
                actions |= _in(transition.when)
    for fault in scenario.start.faults.values():
        if isinstance(fault.mended_by, str):
            actions.add(fault.mended_by)
    return frozenset(actions)


def _in(condition: Condition) -> set[str]:
    return {leaf.action for leaf in leaves(condition) if isinstance(leaf, Doing | Done)}


@dataclass(frozen=True, slots=True)
class AsItShouldBe:
    """What is wanted of a setting: a range or words, or a direction; ``item``: who asks."""

    wanted: Wanted | None
    direction: str | None
    item: str


def settings_asked(scenario: Scenario) -> dict[str, AsItShouldBe]:
    """Return what is asked of each setting at the start, in the order of the marking guide."""
    changes = [
        (item.anchor.kind, item.asked, item.title)
        for item in scenario.key
        if item.anchor is not None and isinstance(item.asked, AskedSetting)
    ]
    should_be: dict[str, AsItShouldBe] = {}
    for anchor, change, title in changes:
        if anchor in ("clock", "start"):
            should_be.setdefault(change.setting, AsItShouldBe(change.to, change.direction, title))
    for fault in scenario.start.faults.values():
        mended = fault.mended_by
        if isinstance(mended, MendedBySetting):
            should_be.setdefault(mended.setting, AsItShouldBe(mended.wanted, None, fault.shows))
    for anchor, change, title in changes:
        if anchor == "action" and change.to is not None:
            should_be.setdefault(change.setting, AsItShouldBe(change.to, None, title))
    for item in scenario.key:
        for name, wanted in item.settings.items():
            if isinstance(wanted, AsShown):
                continue
            should_be.setdefault(name, AsItShouldBe(wanted, None, item.title))
    return should_be


def row_for(value: ProtocolValue, infant: Infant) -> ProtocolRow | None:
    """Return the row of a protocol value for this baby; ``None`` for a table by the clock."""
    if value.by == "clock":
        return None
    reached = infant.gestation_days if value.by == "gestation" else infant.weight_g
    rows = [row for row in value.rows if row.since is None or row.since <= reached]
    return rows[-1] if rows else None
