"""Scenarios, vocabularies and protocols: read from YAML, checked, and held as plain data."""

from simengine.scenario.loading import (
    check_file,
    checked_file,
    find_scenario,
    load_protocol,
    load_scenario,
    load_vocabulary,
    scenario_file,
    scenario_ids,
)

__all__ = [
    "check_file",
    "checked_file",
    "find_scenario",
    "load_protocol",
    "load_scenario",
    "load_vocabulary",
    "scenario_file",
    "scenario_ids",
]
