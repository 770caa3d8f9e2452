"""What a scenario makes of an event, worked out once: who watches which name.

Rules of this file:

- A transition is judged again only if an event touched a name that its guard reads.
- A plan belongs to one ``Scenario`` object and is kept for as long as a few runs need it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple, TypeVar

from simengine.scenario.conditions import Condition, Name, names_read
from simengine.scenario.kept import kept_by_scenario
from simengine.scenario.model import (
    Adjust,
    Course,
    Fault,
    MendedBySetting,
    Scenario,
    State,
    Transition,
    Word,
)
from simengine.session.machine import StateMachine

_K = TypeVar("_K")
_V = TypeVar("_V")


class CoursePlan(NamedTuple):
    """A number, or a word that may change, that a state shows, and which names it follows.

    ``conditional``: some shift waits for a condition. ``rank``: it bends after those of lower rank,
    at which its conditions look. ``readers``: name → the conditions (by ``id``) that read it.
    """

    observation: str
    course: Course | Word
    follows: tuple[Name, ...]
    conditional: bool
    rank: int
    readers: Mapping[Name, tuple[int, ...]]


class Watch(NamedTuple):
    """Who reads which name while certain courses are shown.

    ``followed_by``: name → observations whose targets follow it. ``readers``: name → conditions (by
    ``id``) that read it. ``order``: the courses, those after which others bend first.
    """

    followed_by: Mapping[Name, tuple[str, ...]]
    readers: Mapping[Name, tuple[int, ...]]
    order: tuple[CoursePlan, ...]
    conditions: frozenset[int]


def watch_of(courses: Iterable[CoursePlan]) -> Watch:
    """Return who reads which name while these courses are shown."""
    shown = sorted(courses, key=lambda course: course.rank)
    readers = _grouped(
        (name, condition)
        for course in shown
        for name, conditions in course.readers.items()
        for condition in conditions
    )
    return Watch(
        _grouped((name, course.observation) for course in shown for name in course.follows),
        readers,
        tuple(shown),
        frozenset(condition for conditions in readers.values() for condition in conditions),
    )


@dataclass(frozen=True, slots=True)
class StatePlan:
    """One state: who reads which name (indexes into ``next``), and who waits for which event.

    ``judged``: the transitions that wait for no event. ``courses`` and ``words``: what it shows;
    ``follows``: whether any course follows a setting or a condition.
    """

    state: State
    watchers: Mapping[Name, tuple[int, ...]]
    awaited: Mapping[str, tuple[Transition, ...]]
    judged: tuple[Transition, ...]
    courses: tuple[CoursePlan, ...]
    words: tuple[tuple[str, str], ...]
    follows: bool


@dataclass(frozen=True, slots=True)
class Plan:
    """A scenario as the engine runs it.

    ``mended_by_action`` and ``mended_by_setting``: the faults that each puts right.
    ``refills``: action → supplies. ``drawn_by``: setting, action or fault → supplies that it
    may drain or fill.
    ``reveals``: action → observations of which some guard asks whether they were seen.
    ``fraction_of``: setting → what makes a fraction of 1 of its number.
    ``watches``: what is followed while certain courses are shown (by their ``id``), as it comes up.
    """

    scenario: Scenario
    machine: StateMachine
    states: Mapping[str, StatePlan]
    mended_by_action: Mapping[str, tuple[str, ...]]
    mended_by_setting: Mapping[str, tuple[Fault, ...]]
    refills: Mapping[str, tuple[str, ...]]
    drawn_by: Mapping[Name, tuple[str, ...]]
    reveals: Mapping[str, tuple[str, ...]]
    watched_sights: frozenset[str]
    fraction_of: Mapping[str, float]
    watches: dict[tuple[int, ...], Watch] = field(default_factory=dict)


@kept_by_scenario
def plan_of(scenario: Scenario) -> Plan:
    """Return the plan of ``scenario``, made at its first run."""
    readers = _Readers()
    ranks = _ranks(scenario, readers)
    states = {name: _state_plan(state, ranks, readers) for name, state in scenario.states.items()}
    sights = frozenset(
        name
        for state in scenario.states.values()
        for way in state.next
        if way.when is not None
        for kind, name in names_read(way.when)
        if kind == "seen" and name in scenario.vocabulary.observations
    )
    supplies = {
        name: scenario.vocabulary.supplies[name]
        for name in scenario.start.supplies
        if name in scenario.vocabulary.supplies
    }
    faults = scenario.start.faults.values()
    return Plan(
        scenario=scenario,
        machine=StateMachine(scenario),
        states=states,
        mended_by_action=_grouped(
            (fault.mended_by, fault.name) for fault in faults if isinstance(fault.mended_by, str)
        ),
        mended_by_setting=_grouped(
            (fault.mended_by.setting, fault)
            for fault in faults
            if isinstance(fault.mended_by, MendedBySetting)
        ),
        refills=_grouped(
            (supply.refilled_by, name) for name, supply in supplies.items() if supply.refilled_by
        ),
        drawn_by=_grouped(
            ((by[0], by[1]), name)
            for name, supply in supplies.items()
            for by in (
                ("action", supply.refilled_by),
                *(("action", drain.doing) for drain in supply.drains),
                *(("setting", drain.flow) for drain in supply.drains),
                *(("setting", drain.blend) for drain in supply.drains),
            )
            if by[1] is not None
        )
        | _grouped((("fault", fault.name), name) for fault in faults for name in fault.supplies),
        reveals=_grouped(
            (by.action, name)
            for name in sorted(sights)
            for by in scenario.vocabulary.observations[name].revealed_by
        ),
        watched_sights=sights,
        fraction_of={
            name: 0.01 if setting.unit == "%" else 1.0
            for name, setting in scenario.vocabulary.settings.items()
        },
    )


class _Readers:
    """Which conditions of a course read which name, each condition gone through once."""

    def __init__(self) -> None:
        self._names: dict[int, frozenset[Name]] = {}

    def of(self, course: Course | Word) -> dict[Name, tuple[int, ...]]:
        """Return the conditions (by ``id``) that read each name."""
        return _grouped(
            (name, id(adjust.condition))
            for adjust in course.adjust
            if adjust.condition is not None
            for name in self._read_by(adjust.condition)
        )

    def _read_by(self, condition: Condition) -> frozenset[Name]:
        names = self._names.get(id(condition))
        if names is None:
            names = self._names[id(condition)] = frozenset(names_read(condition))
        return names


def _state_plan(state: State, ranks: Mapping[str, int], readers: _Readers) -> StatePlan:
    courses = tuple(
        _course_plan(name, shown, ranks, readers.of(shown))
        for name, shown in state.shows.items()
        if not isinstance(shown, str)
    )
    return StatePlan(
        state,
        _grouped(
            (name, index)
            for index, transition in enumerate(state.next)
            if transition.when is not None and transition.on is None
            for name in sorted(names_read(transition.when))
        ),
        _grouped(
            (transition.on, transition) for transition in state.next if transition.on is not None
        ),
        tuple(transition for transition in state.next if transition.on is None),
        courses,
        tuple((name, shown) for name, shown in state.shows.items() if isinstance(shown, str)),
        any(course.follows for course in courses),
    )


def _course_plan(
    observation: str,
    course: Course | Word,
    ranks: Mapping[str, int],
    readers: Mapping[Name, tuple[int, ...]],
) -> CoursePlan:
    settings = {
        ("setting", adjust.setting) for adjust in course.adjust if isinstance(adjust, Adjust)
    }
    return CoursePlan(
        observation,
        course,
        tuple(sorted(settings | readers.keys())),
        any(adjust.condition is not None for adjust in course.adjust),
        ranks.get(observation, 0),
        readers,
    )


def _ranks(scenario: Scenario, readers: _Readers) -> dict[str, int]:
    """Return how many observations stand behind each at most, by what conditions look at."""
    looks_at: dict[str, set[str]] = {}
    for state in scenario.states.values():
        for name, shown in state.shows.items():
            if not isinstance(shown, str):
                seen = {other for kind, other in readers.of(shown) if kind == "curve"}
                looks_at.setdefault(name, set()).update(seen)
    ranks = dict.fromkeys(looks_at, 0)
    for _ in ranks:
        for name, others in looks_at.items():
            ranks[name] = max((ranks[other] + 1 for other in others if other in ranks), default=0)
    return ranks


def _grouped(pairs: Iterable[tuple[_K, _V]]) -> dict[_K, tuple[_V, ...]]:
    out: dict[_K, list[_V]] = {}
    for key, value in pairs:
        if value not in out.setdefault(key, []):
            out[key].append(value)
    return {key: tuple(values) for key, values in out.items()}
