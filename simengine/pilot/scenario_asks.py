"""What a scenario asks of any team, worked out once for all teams that play it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from simengine.pilot.entries import dose_asked, settings_asked
from simengine.scenario.conditions import All, Condition, Doing, Name, Read, names_read
from simengine.scenario.kept import kept_by_scenario
from simengine.scenario.key import AskedAction, Avoid, DoseAsked, Expect, Order, Repeat, Respond
from simengine.scenario.model import Scenario
from simengine.scenario.wanted import Told
from simengine.session.plan import plan_of

_K = TypeVar("_K")
_V = TypeVar("_V")


@dataclass(frozen=True, slots=True)
class AskedOfTeams:
    """``expected``: items by kind of anchor, and by (kind, name) of it. ``watched``: the
    observations that a team goes by, of answers and of ways on. ``read_by``: observation → the
    actions that show it; ``told_by``: those that say it aloud. ``readers``: name → the conditions
    of answers (by ``id``) that read it. By action: ``settings`` and
    ``doses`` that go with it, ``reveals``, ``before`` (what an order asks before it) and
    ``unsafe_to_begin``, the conditions in which that is unsafe. ``to_stop``: conditions in which
    it is unsafe to go on with some actions. By state: ``responds``, its answers; ``ways_on``,
    conditions that lead to a state that is not said to deteriorate; ``kept``, what is to be kept;
    ``against``, actions that are not advised.
    ``answered``: the actions and settings that guards, curves and faults answer to.
    ``late_faults``: those that are not planted at the start, each with the states whose guards ask
    for it.
    """

    scenario: Scenario
    expected: Mapping[str, tuple[Expect, ...]]
    expected_of: Mapping[tuple[str, str], tuple[Expect, ...]]
    repeats: tuple[Repeat, ...]
    responds: Mapping[str, tuple[Respond, ...]]
    readers: Mapping[Name, tuple[int, ...]]
    avoids: tuple[Avoid, ...]
    watched: tuple[str, ...]
    read_by: Mapping[str, tuple[str, ...]]
    told_by: Mapping[str, tuple[str, ...]]
    settings: Mapping[str, Mapping[str, Told]]
    doses: Mapping[str, DoseAsked | None]
    reveals: Mapping[str, tuple[str, ...]]
    before: Mapping[str, tuple[str, ...]]
    unsafe_to_begin: Mapping[str, tuple[Condition, ...]]
    to_stop: tuple[tuple[Condition, tuple[str, ...]], ...]
    ways_on: Mapping[str, tuple[Condition, ...]]
    kept: Mapping[str, tuple[Condition, ...]]
    against: Mapping[str, frozenset[str]]
    answered: frozenset[str]
    late_faults: Mapping[str, frozenset[str]]


@kept_by_scenario
def asked_of_teams(scenario: Scenario) -> AskedOfTeams:
    """Return what ``scenario`` asks of a team, worked out when the first one plays it."""
    vocabulary = scenario.vocabulary
    expected = [item for item in scenario.key if isinstance(item, Expect)]
    answers = [item for item in scenario.key if isinstance(item, Respond)]
    asking = _grouped(
        (item.asked.action, item)
        for item in scenario.key
        if isinstance(item.asked, AskedAction) and not item.asked.others
    )
    return AskedOfTeams(
        scenario,
        _grouped((item.anchor.kind, item) for item in expected),
        _grouped(((item.anchor.kind, item.anchor.name or ""), item) for item in expected),
        tuple(item for item in scenario.key if isinstance(item, Repeat)),
        {
            name: tuple(item for item in answers if not item.during or name in item.during)
            for name in scenario.states
        },
        _grouped(
            (name, id(item.whenever)) for item in answers for name in names_read(item.whenever)
        ),
        tuple(item for item in scenario.key if isinstance(item, Avoid)),
        tuple(sorted(_observations(scenario))),
        {name: vocabulary.revealing(name) for name in vocabulary.observations},
        _grouped(
            (action.reads, action.name)
            for action in vocabulary.actions.values()
            if action.reads is not None and action.by_voice
        ),
        {name: settings_asked(asking.get(name, ())) for name in vocabulary.actions},
        {name: dose_asked(asking.get(name, ())) for name in vocabulary.actions},
        _grouped(
            (by.action, observation.name)
            for observation in vocabulary.observations.values()
            for by in observation.revealed_by
        ),
        _grouped(
            (action, before)
            for item in scenario.key
            if isinstance(item, Order)
            for place, action in enumerate(item.actions)
            for before in item.actions[: item.actions.index(action)]
            if place == item.actions.index(action)
        ),
        _grouped(
            (action, item.only_while)
            for item in scenario.never
            if item.begun and isinstance(item.what, AskedAction) and item.only_while is not None
            for action in item.what.actions
        ),
        tuple(
            (
                item.condition,
                tuple(part.action for part in item.condition.parts if type(part) is Doing),
            )
            for item in scenario.never
            if isinstance(item.condition, All)
            and all(isinstance(part, Doing | Read) for part in item.condition.parts)
        ),
        {
            name: tuple(
                transition.when
                for transition in state.next
                if transition.when is not None
                and scenario.states[transition.to].trend != "deteriorating"
            )
            for name, state in scenario.states.items()
        },
        {
            name: tuple(
                item.kept for item in scenario.key if item.kept is not None and name in item.during
            )
            for name in scenario.states
        },
        {
            name: frozenset(
                item.not_advised[0]
                for item in scenario.key
                if item.not_advised and (not item.during or name in item.during)
            )
            for name in scenario.states
        },
        _answered(scenario),
        {
            fault.name: _states_asking(scenario, fault.name)
            for fault in scenario.start.faults.values()
            if not fault.planted_at_start
        },
    )


def _states_asking(scenario: Scenario, fault: str) -> frozenset[str]:
    """Return the states whose guards ask for ``fault``."""
    return frozenset(
        state.name
        for state in scenario.states.values()
        for transition in state.next
        if transition.when is not None and ("fault", fault) in names_read(transition.when)
    )


def _answered(scenario: Scenario) -> frozenset[str]:
    plan = plan_of(scenario)
    read = [
        name
        for state in plan.states.values()
        for names in (
            *(names_read(way.when) for way in state.state.next if way.when is not None),
            *(course.follows for course in state.courses),
        )
        for name in names
    ]
    answered = {name for kind, name in read if kind in ("action", "setting")}
    for fault in scenario.start.faults.values():
        if isinstance(fault.mended_by, str):
            answered.add(fault.mended_by)
        elif fault.mended_by is not None:
            answered.add(fault.mended_by.setting)
    return frozenset(answered)


def _observations(scenario: Scenario) -> set[str]:
    conditions = [item.whenever for item in scenario.key if item.whenever is not None]
    conditions += [
        transition.when
        for state in scenario.states.values()
        for transition in state.next
        if transition.when is not None
    ]
    return {
        name for condition in conditions for kind, name in names_read(condition) if kind == "curve"
    }


def _grouped(pairs: Iterable[tuple[_K, _V]]) -> dict[_K, tuple[_V, ...]]:
    out: dict[_K, list[_V]] = {}
    for key, value in pairs:
        out.setdefault(key, []).append(value)
    return {key: tuple(values) for key, values in out.items()}
