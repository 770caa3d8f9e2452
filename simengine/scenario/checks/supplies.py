"""What runs out: supplies that empty too late to matter, or early without anybody asking.

Rules of this file:

- The fastest that a supply can empty: every drain at the highest flow that the vocabulary calls
  plausible. Slower than the planned time even so, what waits for it waits in vain.
- As found: the flows and actions that the scenario starts with, if nobody touches anything.
"""

from __future__ import annotations

from math import inf

from simengine.quantities import Range, format_duration
from simengine.scenario.checks.walk import filed_states, transition_places
from simengine.scenario.conditions import Condition, SupplyIs, leaves
from simengine.scenario.model import Scenario
from simengine.scenario.place import Place
from simengine.scenario.read_scenario import Read
from simengine.scenario.vocabulary import Drain

_MS_PER_MINUTE = 60_000


def check_supplies(root: Place, read: Read) -> None:
    """Note supplies that run out too late, or without anything that comes of it."""
    scenario = read.scenario
    asked_of: set[str] = set()
    for state, at in filed_states(root, scenario):
        for transition, place in zip(state.next, transition_places(at), strict=False):
            when = place.get("when")
            if transition.when is not None and when is not None:
                asked_of |= _too_slow(when, transition.when, scenario)
    for item, place in read.key_places:
        for condition in item.conditions:
            whole = place.get("whenever") or place.get(item.kind)
            asked_of |= _too_slow(whole or place, condition, scenario)
    start = root.get("start")
    supplies = start.get("supplies") if start is not None else None
    for name in scenario.start.supplies:
        gone = _empty_as_found(name, scenario)
        if supplies is not None and name not in asked_of and gone < scenario.planned_ms:
            supplies.key(name).say(
                "a guard or a key item that asks for a supply that runs out",
                "supply-unread",
                found=f"none; as found it is empty after {format_duration(round(gone))}",
                level="warning",
            )


def _too_slow(place: Place, condition: Condition, scenario: Scenario) -> set[str]:
    """Note thresholds below the contents that can't be reached in time; return what was asked."""
    asked_of: set[str] = set()
    for leaf in leaves(condition):
        if not isinstance(leaf, SupplyIs):
            continue
        asked_of.add(leaf.supply)
        at_start = scenario.start.supplies.get(leaf.supply)
        if at_start is None or at_start <= leaf.wanted.high:
            continue
        rate = sum(
            _highest(drain, scenario) for drain in scenario.vocabulary.supplies[leaf.supply].drains
        )
        takes = (at_start - leaf.wanted.high) / rate * _MS_PER_MINUTE if rate else inf
        if scenario.planned_ms < takes < inf:
            place.say(
                f"contents of '{leaf.supply}' that can run down within the planned "
                f"{format_duration(scenario.planned_ms)}",
                "supply-outlasts",
                found=f"{format_duration(round(takes))} at the highest flow",
                level="warning",
            )
    return asked_of


def _highest(drain: Drain, scenario: Scenario) -> float:
    if drain.flow is None:
        return drain.rate or 0.0
    plausible = scenario.vocabulary.settings[drain.flow].plausible or Range()
    at_start = scenario.start.settings.get(drain.flow)
    return max(plausible.high, at_start if isinstance(at_start, float) else 0.0)


def _empty_as_found(name: str, scenario: Scenario) -> float:
    rate = sum(_as_found(drain, scenario) for drain in scenario.vocabulary.supplies[name].drains)
    return scenario.start.supplies[name] / rate * _MS_PER_MINUTE if rate else inf


def _as_found(drain: Drain, scenario: Scenario) -> float:
    if drain.doing is not None and drain.doing not in scenario.start.doing:
        return 0.0
    if drain.flow is None:
        return drain.rate or 0.0
    flow = scenario.start.settings.get(drain.flow)
    blend = scenario.start.settings.get(drain.blend) if drain.blend is not None else None
    if not isinstance(flow, float):
        return 0.0
    if drain.blend is None or not isinstance(blend, float):
        return drain.drawn(flow, None)
    per_cent = scenario.vocabulary.settings[drain.blend].unit == "%"
    return drain.drawn(flow, blend / 100 if per_cent else blend)
