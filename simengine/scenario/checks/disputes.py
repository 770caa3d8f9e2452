"""Babies for whom the protocol itself says that guidelines disagree."""

from __future__ import annotations

from simengine.scenario.checks.walk import protocol_values_used
from simengine.scenario.model import Scenario
from simengine.scenario.place import Place


def check_disputes(root: Place, scenario: Scenario) -> None:
    """Say it where a value in use is disputed for a baby like this one."""
    infant_at = root.get("infant")
    gestation = infant_at.get("gestation") if infant_at is not None else None
    if gestation is None:
        return
    days = scenario.infant.gestation_days
    for name in sorted(protocol_values_used(scenario)):
        dispute = scenario.protocol.values[name].disputed
        if dispute is not None and dispute.since <= days < dispute.below:
            gestation.say(
                f"care with '{name}' from {dispute.since / 7:g} to {dispute.below / 7:g} wk",
                "disputed",
                level="warning",
                hint=dispute.why,
            )
