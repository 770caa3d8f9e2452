"""Checks of a scenario as a whole: what each part, right in itself, makes of the others.

Rules of this package:

- An error is what can't be meant: a state that nothing leads to, a baby that stays in a state for
  ever. A warning is what may be meant and is worth a second look.
- Sound before complete: what can happen is never said not to. What a facilitator does by hand is
  left out, and so is what is recorded later than it happened.
- What depends on a value of the protocol is at most a warning, since a scenario runs under any.
- Each problem stands at the place that an educator would change.
"""

from __future__ import annotations

from simengine.scenario.checks.disputes import check_disputes
from simengine.scenario.checks.items import check_items
from simengine.scenario.checks.reach import Local, reach_of
from simengine.scenario.checks.states import check_states
from simengine.scenario.checks.supplies import check_supplies
from simengine.scenario.checks.thresholds import check_thresholds
from simengine.scenario.checks.transitions import check_transitions
from simengine.scenario.checks.unused import check_unused
from simengine.scenario.checks.walk import filed_states, transition_places
from simengine.scenario.model import Scenario
from simengine.scenario.place import Place
from simengine.scenario.read_scenario import Read

__all__ = ["check_whole", "local_times"]


def check_whole(root: Place, read: Read) -> None:
    """Note the problems of a scenario that has been read without errors."""
    local = local_times(root, read.scenario)
    reach = reach_of(read.scenario, local)
    check_states(root, reach)
    check_transitions(root, reach, local)
    check_items(read, reach)
    check_unused(root, reach)
    check_supplies(root, read)
    check_thresholds(root, read)
    check_disputes(root, read.scenario)


def local_times(root: Place, scenario: Scenario) -> Local:
    """Return the ways out of states of which a time is a value of the protocol."""
    ways: set[tuple[str, int]] = set()
    for state, at in filed_states(root, scenario):
        for transition, place in zip(state.next, transition_places(at), strict=False):
            times = (place.get("after"), place.get("lasting"))
            if any(at is not None and at.is_map() for at in times):
                ways.add((state.name, transition.index))
    return frozenset(ways)
