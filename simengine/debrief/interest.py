"""What of a session is worth telling first: what its marking guide and its guards name most.

Rules of this file:

- No observation, setting or action is known here by name. The guide counts double a guard.
- What the protocol has a target by minute for is looked at in every session.
"""

from __future__ import annotations

from collections import Counter

from simengine.quantities import Range
from simengine.scenario.conditions import Condition, Observed, SettingIs, leaves
from simengine.scenario.kept import kept_by_scenario
from simengine.scenario.key import AskedSetting
from simengine.scenario.model import MendedBySetting, Scenario
from simengine.scenario.protocol import ProtocolValue
from simengine.scenario.wanted import Steps
from simengine.session.record import Session


@kept_by_scenario
def all_conditions(scenario: Scenario) -> tuple[tuple[Condition, float], ...]:
    """Return every simple condition with its weight."""
    of_guide = [(condition, 2.0) for item in scenario.key for condition in item.conditions]
    of_guards = [
        (transition.when, 1.0)
        for state in scenario.states.values()
        for transition in state.next
        if transition.when is not None
    ]
    return tuple(
        (leaf, weight)
        for condition, weight in (*of_guide, *of_guards)
        for leaf in leaves(condition)
    )


def interest(scenario: Scenario) -> Counter[str]:
    """Count how often each observation is named."""
    counted: Counter[str] = Counter()
    for leaf, weight in all_conditions(scenario):
        if isinstance(leaf, Observed):
            counted[leaf.observation] += int(weight)
    for name, observation in scenario.vocabulary.observations.items():
        if clock_target(scenario, name, observation.unit) is not None:
            counted[name] += 1
    return counted


def curves_by_interest(session: Session) -> list[str]:
    """Return the numeric observations worth drawing, the most interesting first."""
    counted = interest(session.scenario)
    order = list(session.scenario.vocabulary.observations)
    drawn = [name for name in order if session.curves.get(name) and counted[name]]
    return sorted(drawn, key=lambda name: (-counted[name], order.index(name)))


def words_by_interest(session: Session) -> list[str]:
    """Return the observations in words that changed, the most interesting first."""
    counted = interest(session.scenario)
    order = list(session.scenario.vocabulary.observations)
    drawn = [name for name in order if len(session.words.get(name, ())) > 1 and counted[name]]
    return sorted(drawn, key=lambda name: (-counted[name], order.index(name)))


def setting_interest(scenario: Scenario) -> Counter[str]:
    """Count how often the marking guide and the guards name each setting."""
    counted: Counter[str] = Counter()
    for leaf, weight in all_conditions(scenario):
        if isinstance(leaf, SettingIs):
            counted[leaf.setting] += int(weight)
    for item in scenario.key:
        counted.update(dict.fromkeys(item.settings, 2))
        if isinstance(item.asked, AskedSetting):
            counted[item.asked.setting] += 3
    for fault in scenario.start.faults.values():
        if isinstance(fault.mended_by, MendedBySetting):
            counted[fault.mended_by.setting] += 3
    return counted


def thresholds_of(scenario: Scenario, name: str) -> set[float]:
    """Return the ends of the ranges of an observation at which the guide asks for something."""
    ends: set[float] = set()
    for item in scenario.key:
        if item.whenever is not None:
            for leaf in leaves(item.whenever):
                if isinstance(leaf, Observed) and leaf.observation == name:
                    wanted = leaf.wanted
                    if isinstance(wanted, Range):
                        ends |= {end for end in (wanted.low, wanted.high) if abs(end) < 1e300}
    return ends


def clock_target(scenario: Scenario, name: str, unit: str | None) -> ProtocolValue | None:
    """Return the protocol's target by minute for an observation.

    The one that a condition names; else the one whose name begins with the observation's.
    """
    for leaf, _ in all_conditions(scenario):
        if isinstance(leaf, Observed) and leaf.observation == name:
            wanted = leaf.wanted
            if isinstance(wanted, Steps) and wanted.protocol in scenario.protocol.values:
                return scenario.protocol.values[wanted.protocol]
    for value in scenario.protocol.values.values():
        if value.by == "clock" and value.unit == unit and value.name.startswith(f"{name}_"):
            return value
    return None
