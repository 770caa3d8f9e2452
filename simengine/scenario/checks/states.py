"""States that nothing leads to, that can't be left, or that lead round in a circle."""

from __future__ import annotations

from collections.abc import Iterator

from simengine.scenario.checks.implied import conjuncts, disagreement
from simengine.scenario.checks.known import Known, surely
from simengine.scenario.checks.reach import Reach, reached_from
from simengine.scenario.checks.walk import filed_states, transition_places
from simengine.scenario.conditions import Condition, Done, Not, Observed
from simengine.scenario.model import Scenario, State, Transition
from simengine.scenario.place import Place

LONGEST_CIRCLE = 4
"""Circles of more states than this are not looked for."""
STEPS_LOOKED_AT = 20_000
"""So many steps are looked at in all: what is larger is no scenario that a person wrote."""


def check_states(root: Place, reach: Reach) -> None:
    """Note what is wrong with the states as a graph."""
    scenario = reach.scenario
    _entered(root, reach)
    for state, at in filed_states(root, scenario):
        _exits(at, state)
    if not _no_end(root, reach):
        _trapped(root, reach)
    _circles(root, reach)


def _entered(root: Place, reach: Reach) -> None:
    scenario = reach.scenario
    led_to = reached_from(scenario.start.state, scenario)
    states = root.get("states")
    assert states is not None
    for name in scenario.states:
        if name in reach.known or states.get(name) is None:
            continue
        at = states.key(name)
        if name not in led_to:
            at.say(
                "a state that some transition leads to",
                "never-reached",
                found="none",
                hint="add a transition with 'to: " + name + "', or take the state away",
            )
        else:
            at.say(
                "a state that can be entered",
                "never-entered",
                found="none of the ways to it can ever be taken",
                hint="a facilitator's hand alone would lead here",
            )


def _exits(at: Place, state: State) -> None:
    if not state.next and not state.ends:
        at.say(
            "'next' (the ways out), or 'ends: true'",
            "dead-end",
            found="neither",
        )
    if state.ends and state.next:
        at.key("next").say(
            "no 'next' in a state with 'ends: true'",
            "needless-key",
            found="",
            hint="the session closes there",
        )
    if state.linger_ms and not state.ends:
        at.key("linger").say(
            "'linger' only in a state with 'ends: true'", "needless-key", found="", level="warning"
        )


def _no_end(root: Place, reach: Reach) -> bool:
    """Say so if no state that ends can be entered; not if a dead end has been told."""
    states = reach.scenario.states
    if any(states[name].ends for name in reach.known):
        return False
    if all(states[name].next for name in reach.known):
        at = root.get("states")
        assert at is not None
        at.say("a state with 'ends: true' that can be reached", "no-end", found="none")
    return True


def _trapped(root: Place, reach: Reach) -> None:
    """States that can be entered and from which no end can be reached."""
    states = reach.scenario.states
    came_from: dict[str, set[str]] = {name: set() for name in reach.known}
    for name in reach.known:
        for to in reach.nexts(name):
            came_from[to].add(name)
    # A dead end has been told already, and so have the states that lead to it.
    free = {name for name in reach.known if states[name].ends or not states[name].next}
    todo = list(free)
    while todo:
        for name in came_from[todo.pop()] - free:
            free.add(name)
            todo.append(name)
    trapped = [name for name in states if name in reach.known and name not in free]
    at = root.get("states")
    assert at is not None
    trapped = [name for name in trapped if at.get(name) is not None]
    if trapped:
        others = f", as from {', '.join(repr(name) for name in trapped[1:])}" if trapped[1:] else ""
        at.key(trapped[0]).say(
            "a way from here to a state with 'ends: true'", "no-way-out", found=f"none{others}"
        )


def _circles(root: Place, reach: Reach) -> None:
    """Circles of guards that can all hold at one instant, so that no time need pass."""
    scenario = reach.scenario
    steps = {
        name: [
            (way.transition, parts)
            for way in reach.exits[name].ways
            if way.can and (parts := _at_once(way.transition, reach.known[name], scenario))
        ]
        for name in reach.known
    }
    budget = [STEPS_LOOKED_AT]
    for name, state in scenario.states.items():
        circle = next(_rounds(name, name, steps, [], [], budget), None) if name in steps else None
        if circle is None:
            continue
        # Each circle is told once, at the first of its states in the file.
        order = list(scenario.states)
        through = [transition.to for transition in circle]
        if min(order.index(stop) for stop in through) < order.index(name):
            continue
        ways = next(
            (transition_places(at) for filed, at in filed_states(root, scenario) if filed is state),
            [],
        )
        at = ways[circle[0].index].get("when") if circle[0].index < len(ways) else None
        if at is not None:
            at.say(
                "a circle of states that takes time",
                "circle-without-time",
                found=f"'{name}' to " + " to ".join(f"'{stop}'" for stop in through),
                level="warning",
                hint="all of these guards can hold at once: add 'lasting' to one",
            )


Steps = dict[str, list[tuple[Transition, list[Condition]]]]


def _rounds(
    first: str,
    here: str,
    steps: Steps,
    taken: list[Transition],
    held: list[Condition],
    budget: list[int],
) -> Iterator[list[Transition]]:
    for transition, parts in steps[here]:
        budget[0] -= 1
        if budget[0] < 0:
            return
        both = [*held, *parts]
        if disagreement(both) is not None:
            continue
        if transition.to == first:
            yield [*taken, transition]
        elif (
            len(taken) + 1 < LONGEST_CIRCLE
            and transition.to in steps
            and transition.to not in (stop.to for stop in taken)
        ):
            yield from _rounds(first, transition.to, steps, [*taken, transition], both, budget)


def _at_once(transition: Transition, known: Known, scenario: Scenario) -> list[Condition]:
    """The clauses of a guard that can hold at the entry of its state; empty if it can't or may not.

    Only plain lists of clauses are looked at.
    """
    if (
        transition.when is None
        or transition.on is not None
        or transition.lasting_ms
        or transition.after_ms
    ):
        return []
    conditions: list[Condition] = []
    for part in conjuncts(transition.when):
        leaf = part.part if isinstance(part, Not) else part
        if isinstance(leaf, Done) and not leaf.ever:
            if leaf is part:
                return []
        elif isinstance(leaf, Observed):
            if not surely(part, known, scenario):
                return []
        elif type(leaf).__name__ in ("AnyOf", "All", "Not"):
            return []
        else:
            conditions.append(part)
    return conditions
