"""A curve never reaches its target: a threshold that lies there is met by no baby."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf

from simengine.quantities import Range, format_quantity
from simengine.quantities.ranges import CLOSE
from simengine.scenario.checks.walk import (
    filed_states,
    observed_in,
    transition_places,
)
from simengine.scenario.conditions import Observed
from simengine.scenario.model import Course, Scenario, Word
from simengine.scenario.place import Place
from simengine.scenario.read_scenario import Read
from simengine.scenario.wanted import Steps, Wanted


def check_thresholds(root: Place, read: Read) -> None:
    """Note the thresholds of guards and key that lie at a target."""
    scenario = read.scenario
    for state, at in filed_states(root, scenario):
        for transition, place in zip(state.next, transition_places(at), strict=False):
            when = place.get("when")
            if transition.when is None or when is None:
                continue
            for leaf in observed_in(transition.when):
                own = state.shows.get(leaf.observation)
                _threshold(when, leaf, [own] if own is not None else [], scenario)
    for item, place in read.key_places:
        for condition in item.conditions:
            whole = place.get("whenever") or place.get(item.kind)
            for leaf in observed_in(condition):
                courses = [
                    state.shows[leaf.observation]
                    for state in scenario.states.values()
                    if leaf.observation in state.shows
                    and (not item.during or state.name in item.during)
                ]
                if whole is not None:
                    _threshold(whole, leaf, courses, scenario)


def _threshold(
    place: Place, leaf: Observed, courses: Iterable[Course | Word | str], scenario: Scenario
) -> None:
    ends = [end for end in _ends(leaf.wanted) if abs(end) < inf]
    for course in courses:
        if not isinstance(course, Course) or course.within_ms is None or course.adjust:
            continue
        for end in ends:
            if abs(end - course.to) <= CLOSE * max(1.0, abs(end)):
                unit = scenario.vocabulary.observations[leaf.observation].unit or ""
                place.say(
                    f"a threshold of '{leaf.observation}' away from a target",
                    "threshold-at-target",
                    found=f"{format_quantity(end, unit)}, which a state has as its 'to'",
                    level="warning",
                    hint="a curve comes near its target and never reaches it",
                )
                return


def _ends(wanted: Wanted) -> list[float]:
    if isinstance(wanted, Range):
        return [wanted.low, wanted.high]
    if isinstance(wanted, Steps):
        return [end for _, row in wanted.rows for end in (row.low, row.high)]
    return []
