"""Which states can be entered, which ways out can be taken, and how long a state can last.

Rules of this file:

- The picture is too wide rather than too narrow (see ``known``): a way that it excludes is never
  taken by itself, a state that it excludes never entered. A facilitator's hand is left out.
- A way whose time or guard is a value of the protocol counts as one that can be taken, since
  another protocol may let it: what the chosen one makes of it is told apart.
- ``at_most`` is how long a stay can last (ms): till the first of those ways that are surely taken.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Set
from dataclasses import dataclass, field
from functools import cached_property
from math import inf
from typing import NamedTuple

from simengine.scenario.checks.known import (
    NEVER,
    NOTHING,
    Known,
    earliest,
    shown_in,
    surely,
)
from simengine.scenario.checks.walk import protocol_values_in
from simengine.scenario.model import Scenario, State, Transition

Local = frozenset[tuple[str, int]]
"""Ways (state, index) of which a time is a value of the protocol."""


class Way(NamedTuple):
    """One way out: due ``due_ms`` after the entry at the earliest, if nothing comes before it."""

    transition: Transition
    due_ms: float
    can: bool


class Exits(NamedTuple):
    """The ways out of a state. ``first``: (ms, index) of the one that is surely taken by then."""

    ways: tuple[Way, ...]
    first: tuple[float, int] | None

    @property
    def at_most(self) -> float:
        """How long the state lasts at most; ``inf`` without end."""
        return self.first[0] if self.first is not None else inf


@dataclass(frozen=True)
class Reach:
    """What can be reached. ``known`` and ``exits`` hold the states that can be entered."""

    scenario: Scenario
    known: Mapping[str, Known]
    exits: Mapping[str, Exits]
    _longest: dict[tuple[str, frozenset[str]], float] = field(default_factory=dict, repr=False)

    def nexts(self, state: str) -> Iterator[str]:
        """Go through the states that a state can lead to."""
        return (way.transition.to for way in self.exits[state].ways if way.can)

    def at_most(self, state: str) -> float:
        """How long a stay can last (ms)."""
        entered = self.scenario.states[state]
        return float(entered.linger_ms) if entered.ends else self.exits[state].at_most

    @cached_property
    def shortest_ms(self) -> float:
        """How long a session takes at least to its end; ``inf`` if it never ends by itself."""
        ends = (
            known.since_ms + self.scenario.states[name].linger_ms
            for name, known in self.known.items()
            if self.scenario.states[name].ends
        )
        return min(ends, default=inf)

    def longest(self, first: str, stops: Collection[str] = ()) -> float:
        """How long it can take from the entry of ``first`` to that of a stop, or to the close."""
        key = (first, frozenset(stops))
        longest = self._longest.get(key)
        if longest is None:
            longest = self._longest[key] = self._walk((first,), key[1])
        return longest

    def longest_within(self, states: Set[str]) -> float:
        """How long an unbroken stay in some states can last."""
        inside = frozenset(states & self.known.keys())
        key = ("", inside)
        longest = self._longest.get(key)
        if longest is None:
            outside = frozenset(self.known.keys() - inside)
            longest = self._longest[key] = self._walk(inside, outside)
        return longest

    def _walk(self, firsts: Collection[str], stops: frozenset[str]) -> float:
        """The longest way from any of ``firsts`` that enters no stop; without end in a circle."""
        longest: dict[str, float] = {}
        for first in firsts:
            if first in longest:
                continue
            path = {first}
            todo = [(first, iter(self._on(first, stops)))]
            while todo:
                name, following = todo[-1]
                step = next(following, None)
                if step is None:
                    todo.pop()
                    path.discard(name)
                    further = (longest[on] for on in self._on(name, stops))
                    longest[name] = self.at_most(name) + max(further, default=0.0)
                elif step in path:
                    return inf
                elif step not in longest:
                    path.add(step)
                    todo.append((step, iter(self._on(step, stops))))
        return max((longest[first] for first in firsts), default=0.0)

    def _on(self, state: str, stops: frozenset[str]) -> set[str]:
        return {step for step in self.nexts(state) if step not in stops}


def reach_of(scenario: Scenario, local: Local = frozenset()) -> Reach:
    """Work out what can be reached from the start."""
    first = scenario.start.state
    known = {first: shown_in(scenario.states[first], NOTHING, scenario)}
    exits: dict[str, Exits] = {}
    todo = [first]
    while todo:
        name = todo.pop()
        state = scenario.states[name]
        exits[name] = exits_of(state, known[name], scenario, local)
        for way in exits[name].ways:
            if not way.can:
                continue
            to = way.transition.to
            entered = shown_in(scenario.states[to], _left(known[name], way, scenario), scenario)
            before = known.get(to)
            both = entered if before is None else before.or_else(entered)
            if both != before:
                known[to] = both
                if to not in todo:
                    todo.append(to)
    return Reach(scenario, known, exits)


def exits_of(
    state: State,
    known: Known,
    scenario: Scenario,
    local: Local,
    *,
    strict: bool = False,
) -> Exits:
    """Work out the ways out of a state. ``strict``: hold local ways to the chosen protocol too."""
    sure: list[tuple[float, int]] = []
    due: list[tuple[Transition, float, bool]] = []
    for transition in state.next:
        free = is_local(state, transition, local) and not strict
        at = 0.0 if free else due_ms(transition, known, scenario)
        due.append((transition, at, free))
        if free or transition.on is not None:
            continue
        by = max(transition.lasting_ms, transition.after_ms or 0)
        # What leaves a state as it is entered is told as such, and hides nothing else.
        if by and (transition.when is None or surely(transition.when, known, scenario)):
            sure.append((float(by), transition.index))
    first = min(sure, default=None)
    return Exits(
        tuple(
            Way(
                transition,
                at,
                at < NEVER and (free or first is None or (at, transition.index) <= first),
            )
            for transition, at, free in due
        ),
        first,
    )


def is_local(state: State, transition: Transition, local: Local) -> bool:
    """Whether a way depends on a value of the protocol."""
    return (state.name, transition.index) in local or (
        transition.when is not None and bool(protocol_values_in(transition.when))
    )


def due_ms(transition: Transition, known: Known, scenario: Scenario) -> float:
    """How long after the entry a way comes due at the earliest; ``NEVER`` if it can't."""
    after = float(transition.after_ms or 0)
    if transition.when is None:
        return after
    return max(earliest(transition.when, known, scenario) + transition.lasting_ms, after)


def _left(known: Known, way: Way, scenario: Scenario) -> Known:
    """Return what is so as a state is left by a way."""
    starts = way.transition.on is not None and way.transition.on == scenario.start.clock
    return known._replace(
        since_ms=known.since_ms + way.due_ms,
        started=known.started or starts,
        clock_ms=known.clock_ms + way.due_ms if known.started else 0.0,
    )


def reached_from(first: str, scenario: Scenario) -> set[str]:
    """Return the states that a state leads to, itself included, whether or not they are entered."""
    reached = {first}
    todo = [first]
    while todo:
        for transition in scenario.states[todo.pop()].next:
            if transition.to not in reached:
                reached.add(transition.to)
                todo.append(transition.to)
    return reached
