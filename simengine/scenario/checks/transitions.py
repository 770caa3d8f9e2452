"""Ways out of a state that are taken at once, never come due, or always come second.

Rules of this file:

- A guard that holds as its state is entered leaves it at once; only what is sure is told.
- A way never comes due if its guard can't hold in its state, or can't hold for long enough before
  a way that is surely taken.
- A way always comes second if another, listed before it or asking for less time, is due whenever
  it is. Nothing is said where the other may lead in a circle in no time and so not be taken.
- What depends on a value of the protocol is a warning: under another protocol it may differ.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Literal

from simengine.quantities import Range, format_duration
from simengine.scenario.checks.implied import implies
from simengine.scenario.checks.known import NEVER
from simengine.scenario.checks.reach import (
    Exits,
    Local,
    Reach,
    due_ms,
    exits_of,
    is_local,
    reached_from,
)
from simengine.scenario.checks.reasons import why_never
from simengine.scenario.checks.walk import filed_states, transition_places
from simengine.scenario.conditions import All, AnyOf, Condition, Not, Observed
from simengine.scenario.model import Course, State, Transition, Word
from simengine.scenario.place import Place
from simengine.scenario.wanted import OneOf, Wanted

Level = Literal["error", "warning"]
LeadsTo = Callable[[str], set[str]]
"""The states that a state leads to."""
OTHERS = 100
"""Each way out is held against so many of the first: no state that a person wrote has more."""


def check_transitions(root: Place, reach: Reach, local: Local) -> None:
    """Note what is wrong with the ways out of each state."""
    leads_to = cache(lambda name: reached_from(name, reach.scenario))
    for state, at in filed_states(root, reach.scenario):
        places = transition_places(at)
        for transition, place in zip(state.next, places, strict=False):
            _at_once(place, state, transition)
        if state.name not in reach.known:
            continue
        exits = exits_of(state, reach.known[state.name], reach.scenario, local, strict=True)
        for transition, place in zip(state.next, places, strict=False):
            if _comes_due(place, state, transition, exits, reach, local):
                _second(place, state, transition, local, leads_to)


def _at_once(at: Place, state: State, transition: Transition) -> None:
    if transition.after_ms == 0 and transition.when is None and transition.on is None:
        after = at.get("after")
        if after is not None:
            after.say(
                "a time above 0 s", "left-at-entry", hint="the state is left as it is entered"
            )
        return
    if (
        transition.when is None
        or transition.on is not None
        or transition.lasting_ms
        or transition.after_ms
    ):
        return
    when = at.get("when")
    if when is not None and _at_entry(transition.when, state) is True:
        when.say(
            "a condition that is not met as the state is entered",
            "left-at-entry",
            found="one that is",
            hint="the state would be left at once: add 'lasting'",
        )


def _at_entry(condition: Condition, state: State) -> bool | None:
    """Whether a condition holds as a state is entered; ``None`` where that depends."""
    match condition:
        case Observed(observation, wanted):
            return _shown_at_entry(state.shows.get(observation), wanted)
        case All(parts):
            answers = [_at_entry(part, state) for part in parts]
            return False if False in answers else None if None in answers else True
        case AnyOf(parts):
            answers = [_at_entry(part, state) for part in parts]
            return True if True in answers else None if None in answers else False
        case Not(part):
            answer = _at_entry(part, state)
            return None if answer is None else not answer
        case _:
            return None


def _shown_at_entry(shown: Course | Word | str | None, wanted: Wanted) -> bool | None:
    if isinstance(shown, str):
        return shown in wanted.words if isinstance(wanted, OneOf) else None
    if not isinstance(shown, Course) or not isinstance(wanted, Range):
        return None
    if shown.within_ms is None:
        return None if shown.adjust else wanted.contains(shown.to)
    return wanted.contains(shown.start) if shown.start is not None else None


def _comes_due(
    place: Place,
    state: State,
    transition: Transition,
    exits: Exits,
    reach: Reach,
    local: Local,
) -> bool:
    """Whether a way can come due before a sure one; say so if it can't."""
    known = reach.known[state.name]
    level: Level = "warning" if is_local(state, transition, local) else "error"
    due = due_ms(transition, known, reach.scenario)
    when = place.get("when")
    if due == NEVER:
        assert when is not None
        assert transition.when is not None
        when.say(
            f"a condition that can hold in '{state.name}'",
            "never-due",
            found=why_never(transition.when, known, reach.scenario),
            level=level,
            hint="this transition never comes due",
        )
        return False
    first = exits.first
    if first is None or (due, transition.index) <= first:
        return True
    limit, index = first
    if is_local(state, state.next[index], local):
        level = "warning"
    sooner = f"{format_duration(round(limit))} of next[{index}]"
    for key, needs in (("after", transition.after_ms), ("lasting", transition.lasting_ms)):
        at = place.get(key)
        # Due at the same instant the first listed is taken.
        if at is not None and needs and (needs, transition.index) > first:
            at.say(
                f"less than the {sooner}",
                "never-due",
                level=level,
                hint="this transition never comes due",
            )
            return False
    (when or place).say(
        f"a way that can come before the {sooner}",
        "never-due",
        found=f"{format_duration(round(due))} at the earliest",
        level=level,
        hint="this transition never comes due",
    )
    return False


def _second(
    place: Place, state: State, transition: Transition, local: Local, leads_to: LeadsTo
) -> None:
    for other in state.next[:OTHERS]:
        if other.index != transition.index and _always_before(other, transition, state, leads_to):
            depends = is_local(state, transition, local) or is_local(state, other, local)
            place.say(
                f"a way that is taken at some time; next[{other.index}] always comes before it",
                "always-second",
                found=f"one that is due only when next[{other.index}] is",
                level="warning" if depends else "error",
                hint="list the narrower condition first",
            )
            return


def _always_before(
    other: Transition, transition: Transition, state: State, leads_to: LeadsTo
) -> bool:
    """Whether ``other`` is taken whenever ``transition`` is due."""
    if other.on is not None and other.on != transition.on:
        return False
    if other.when is not None and (
        transition.when is None or not implies(transition.when, other.when)
    ):
        return False
    if other.when is None and other.on is None:
        return False  # a plain time has been told
    after, others_after = transition.after_ms or 0, other.after_ms or 0
    if other.lasting_ms > transition.lasting_ms or others_after > after:
        return False
    if other.index > transition.index and not (
        transition.on is None and other.lasting_ms < transition.lasting_ms and not others_after
    ):
        return False
    if other.on or other.lasting_ms or others_after:
        return True
    return state.name not in leads_to(other.to)
