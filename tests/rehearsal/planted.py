"""A scenario with faults of the cot's catalogue, and with no others."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from simengine.resources import scenarios_dir
from simengine.scenario.model import Fault, Scenario, Start
from simengine.scenario.opened import opened
from simengine.scenario.read_conditions import Context, scope_of
from simengine.scenario.read_start import every_fault, read_faults
from tests import shipped


@cache
def rows() -> dict[str, str]:
    """Every fault of the catalogue, and the row in which it is met."""
    equipment = shipped.vocabulary().equipment
    assert equipment is not None
    return {fault: row.name for row in equipment.rows.values() for fault in row.faults}


def planted(names: tuple[str, ...], scenario: Scenario) -> Scenario:
    """The scenario with these faults of the catalogue alone."""
    root, _ = opened("equipment", scenarios_dir() / "equipment" / "newborn.yaml")
    assert root is not None
    context = Context(scenario.vocabulary, scenario.protocol, scenario.infant)
    known = every_fault(root)
    faults = read_faults({name: known[name] for name in names}, scope_of(context))
    well = {
        name: value
        for name, value in scenario.start.settings.items()
        if name not in {left for fault in scenario.start.faults.values() for left in fault.settings}
    }
    start = Start(
        scenario.start.state,
        scenario.start.clock,
        well,
        {"oxygen_cylinder": 414.0, "air_cylinder": 414.0},
        {},
    )
    for fault in faults.values():
        start = _left_by(start, fault)
    return replace(scenario, start=replace(start, faults=faults))


def _left_by(start: Start, fault: Fault) -> Start:
    return replace(
        start,
        settings={**start.settings, **fault.settings},
        supplies={**start.supplies, **fault.supplies},
        doing=(*start.doing, *fault.doing),
        as_found={**start.as_found, **fault.as_found},
    )
