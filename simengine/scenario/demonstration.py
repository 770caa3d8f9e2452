"""What simulated teams and plays are held to: also a pass mark that nobody has set."""

from __future__ import annotations

from dataclasses import replace

from simengine.scenario.model import Scenario


def held_to_its_mark(scenario: Scenario) -> Scenario:
    """Return the scenario as it judges teams that are not people: an invented pass mark counts."""
    standard = scenario.scoring.standard
    if standard is None or not standard.demonstration:
        return scenario
    scoring = replace(scenario.scoring, standard=replace(standard, demonstration=False))
    return replace(scenario, scoring=scoring)
