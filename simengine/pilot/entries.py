"""What a team does, as a session log writes it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from simengine.pilot.values import right_number
from simengine.quantities import Range
from simengine.scenario.key import AskedSetting, DoseAsked, Item
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Dose
from simengine.scenario.wanted import AsShown, Told, Value, Wanted
from simengine.session.events import Kind


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that a team did: kind and data of an event."""

    kind: Kind
    data: Mapping[str, Any]


def action_entry(
    scenario: Scenario, action: str, phase: str, more: Mapping[str, Any] | None = None
) -> Entry:
    """Return an action done, started or stopped; ``more``: settings, dose, spoken values."""
    data: dict[str, Any] = {"action": action, "phase": phase}
    role = scenario.vocabulary.actions[action].role
    if role in scenario.roles:
        data["role"] = role
    return Entry("action", data | dict(more or {}))


def set_entry(scenario: Scenario, setting: str, value: Value) -> Entry:
    """Return a setting being set."""
    reading = value_data(value, scenario.vocabulary.settings[setting].unit)
    return Entry("set", {"setting": setting, **reading})


def value_data(value: Value, unit: str | None) -> dict[str, Any]:
    """Return a value as the log writes it."""
    if isinstance(value, str) or unit is None:
        return {"value": value}
    return {"value": value, "unit": unit}


def dose_data(asked: DoseAsked, dose: Dose, *, times: float = 1.0) -> dict[str, Any]:
    """Return a dose by the first route that is asked, its amount ``times`` what is asked."""
    routes = (*asked.by_route, *asked.routes, *dose.routes)
    out: dict[str, Any] = {"route": routes[0]} if routes else {}
    amount = asked.by_route.get(routes[0], asked.amount) if routes else asked.amount
    for name, wanted, unit, tolerance in (
        ("amount", amount, dose.unit, dose.tolerance),
        ("strength", asked.strength, dose.strength_unit, dose.strength_tolerance),
        ("flush", asked.flush, dose.flush_unit, dose.flush_tolerance),
        ("over", asked.over, dose.over_unit, dose.over_tolerance),
    ):
        if isinstance(wanted, Range) and unit is not None:
            number = right_number(wanted, tolerance or 1.0)
            out[name] = {"value": number * (times if name == "amount" else 1.0), "unit": unit}
    return out


def settings_asked(items: Iterable[Item]) -> dict[str, Told]:
    """Return what the settings of an action should be by the items that ask it, the first first."""
    out: dict[str, Told] = {}
    for item in items:
        out = dict(item.settings) | out
    return out


def dose_asked(items: Iterable[Item]) -> DoseAsked | None:
    """Return the dose of an action by the first of the items that ask it that has one."""
    return next((item.dose for item in items if item.dose is not None), None)


def asked_settings(scenario: Scenario) -> dict[str, Wanted]:
    """Return what the marking guide asks of each setting anywhere, the first item first."""
    out: dict[str, Wanted] = {}
    for item in scenario.key:
        if isinstance(item.asked, AskedSetting) and item.asked.to is not None:
            out.setdefault(item.asked.setting, item.asked.to)
        for name, wanted in item.settings.items():
            if not isinstance(wanted, AsShown):
                out.setdefault(name, wanted)
    return out
