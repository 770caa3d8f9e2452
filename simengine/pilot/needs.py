"""What a condition needs of the team, and what of that is still to be done.

Rules of this file:

- Only what a team can bring about counts: doing, having done, a setting. What is observed, the
  clock and the supplies are not in its hands, and what stands under ``not`` is to be left alone,
  apart from an action that is to be stopped.
- A dial that belongs with something observed is turned once that has been seen, not before.
- Of several ways (``any``) the team takes the one of which least is missing, the first if equal.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from simengine.pilot.scenario_asks import asked_of_teams
from simengine.scenario.conditions import (
    All,
    AnyOf,
    Condition,
    Doing,
    Done,
    Given,
    Not,
    Observed,
    Seen,
    SettingIs,
)
from simengine.scenario.model import Scenario

Need = Doing | Done | SettingIs | Not
"""``Not`` holds a ``Doing``: that action is to be stopped."""


@dataclass(frozen=True, slots=True)
class Eyes:
    """How the team judges: ``met``, whether a need is met; ``seen``, whether it knows that a
    condition holds that is not in its hands."""

    met: Callable[[Need], bool]
    seen: Callable[[Condition], bool]


def missing(condition: Condition, eyes: Eyes) -> list[Need]:
    """Return what the team still has to do for ``condition``, in the order written."""
    match condition:
        case Doing() | Done() | SettingIs():
            return [] if eyes.met(condition) else [condition]
        case Given(action):
            return missing(Done(action, ever=True), eyes)
        case Not(Doing()):
            return [] if eyes.met(condition) else [condition]
        case All(parts):
            needs = [need for part in parts for need in missing(part, eyes)]
            dials = [need for need in needs if type(need) is SettingIs]
            if not dials or all(eyes.seen(p) for p in parts if isinstance(p, Observed | Seen)):
                return needs
            return [need for need in needs if type(need) is not SettingIs]
        case AnyOf(parts):
            ways = [missing(part, eyes) for part in parts if in_hand(part)]
            return min(ways, key=len) if ways else []
        case _:
            return []


def in_hand(condition: Condition) -> bool:
    """Whether a team can do anything towards ``condition``."""
    match condition:
        case Doing() | Done() | Given() | SettingIs():
            return True
        case Not(part):
            return isinstance(part, Doing)
        case All(parts) | AnyOf(parts):
            return any(in_hand(part) for part in parts)
        case _:
            return False


def actions_in(condition: Condition) -> set[str]:
    """Return the actions that ``condition`` waits for, those under ``not`` left out."""
    match condition:
        case Doing(action) | Done(action) | Given(action):
            return {action}
        case All(parts) | AnyOf(parts):
            return {action for part in parts for action in actions_in(part)}
        case _:
            return set()


def ways_on(scenario: Scenario, state: str, eyes: Eyes) -> list[Need]:
    """Return what is missing for the ways on from ``state``, and for what is to be kept in it.

    A way on leads to a state that is not said to deteriorate. What the marking guide advises
    against there is left out.
    """
    asked_of_team = asked_of_teams(scenario)
    against = asked_of_team.against[state]
    wanted = [
        need
        for condition in asked_of_team.ways_on[state]
        for need in missing(condition, eyes)
        # Where a state is left because something has stopped, nobody stops it for that.
        if not isinstance(need, Not)
    ] + [need for condition in asked_of_team.kept[state] for need in missing(condition, eyes)]
    needs: list[Need] = []
    for need in wanted:
        advised_against = isinstance(need, Doing | Done) and need.action in against
        if need not in needs and not advised_against:
            needs.append(need)
    return needs
