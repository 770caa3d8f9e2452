"""Whose work an action is among the roles that a scenario has.

Rules of this file:

- A role does what it is said to cover. One that covers nothing in so many words does the work of
  the vocabulary's role of its own name, unless another is said to cover that.
- What nobody does so falls to the first of its stand-ins in the vocabulary that the scenario has.
- What is left is nobody's.
"""

from __future__ import annotations

from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Action


def whose(scenario: Scenario, action: Action) -> str | None:
    """Return the scenario's role that does an action; ``None``: anybody."""
    return who_does(scenario, action.role) if action.role is not None else None


def who_does(scenario: Scenario, role: str) -> str | None:
    """Return the scenario's role that does the work of a role of the vocabulary."""
    for work in (role, *scenario.vocabulary.stand_ins.get(role, ())):
        for name, covered in scenario.covers.items():
            if work in covered:
                return name
        if work in scenario.roles and work not in scenario.covers:
            return work
    return None
