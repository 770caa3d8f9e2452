"""Going through the conditions of a scenario, and the places at which its parts stand."""

from __future__ import annotations

from collections.abc import Iterator

from simengine.scenario.conditions import (
    Condition,
    Observed,
    Read,
    SettingIs,
    SupplyIs,
    leaves,
)
from simengine.scenario.key import AskedSetting
from simengine.scenario.model import MendedBySetting, Scenario, State
from simengine.scenario.place import Place
from simengine.scenario.wanted import AsShown, OneOf, Wanted


def observed_in(condition: Condition) -> Iterator[Observed]:
    """Go through the clauses of a condition that look at the baby."""
    for leaf in leaves(condition):
        if isinstance(leaf, Observed):
            yield leaf


def all_conditions(scenario: Scenario) -> list[Condition]:
    """Return every condition of guards and key."""
    guards = [
        transition.when
        for state in scenario.states.values()
        for transition in state.next
        if transition.when is not None
    ]
    return guards + [condition for item in scenario.key for condition in item.conditions]


def protocol_value_of(wanted: Wanted | None) -> str | None:
    """Return the name of the protocol value that a range came from, if it did."""
    return None if wanted is None or isinstance(wanted, OneOf) else wanted.protocol


def protocol_values_in(condition: Condition) -> set[str]:
    """Return the names of the protocol values that a condition depends on."""
    return {
        name
        for leaf in leaves(condition)
        if isinstance(leaf, (SettingIs, Observed, Read, SupplyIs))
        and (name := protocol_value_of(leaf.wanted)) is not None
    }


def protocol_values_used(scenario: Scenario) -> set[str]:
    """Return the names of the protocol values that faults, guards and key depend on."""
    wanted: list[Wanted | None] = [
        fault.mended_by.wanted
        for fault in scenario.start.faults.values()
        if isinstance(fault.mended_by, MendedBySetting)
    ]
    for item in scenario.key:
        wanted += [part for part in item.settings.values() if not isinstance(part, AsShown)]
        if isinstance(item.asked, AskedSetting):
            wanted.append(item.asked.to)
        if item.dose is not None:
            dose = item.dose
            wanted += [*dose.by_route.values(), dose.amount, dose.strength, dose.flush, dose.over]
    names = {name for part in wanted if (name := protocol_value_of(part)) is not None}
    return names.union(*(protocol_values_in(condition) for condition in all_conditions(scenario)))


def filed_states(root: Place, scenario: Scenario) -> Iterator[tuple[State, Place]]:
    """Go through the states of the file with their places: not those of complications."""
    states = root.get("states")
    for name, state in scenario.states.items():
        at = states.get(name) if states is not None else None
        if at is not None:
            yield state, at


def transition_places(state_at: Place) -> list[Place]:
    """Return the places of the ways out of the state that stands at ``state_at``.

    What a complication adds comes after them, and has none.
    """
    next_at = state_at.get("next")
    return next_at.elements() if next_at is not None else []
