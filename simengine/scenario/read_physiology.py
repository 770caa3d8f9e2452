"""A file of physiology, read for one scenario, and laid into its states.

Rules of this file:

- What comes of it are ordinary parts of a scenario: shifts of courses, states and transitions. The
  engine, the digest and every check see those, and know of no physiology.
- A rule is laid into each course of what it shifts; of what is told in words into each word that a
  state shows, unless the state keeps it. A course that follows a setting in its own way
  is left alone by rules that follow the same setting in proportion.
- Of a complication each state for which it is turned on gets copies of its own (``STATE-NAME``), so
  that they lead back to it. It comes after the ways out that the scenario itself has.
- What waits for a fault that the scenario does not plant is left out, since it is never there.
- Observations at which conditions look must not look at one another in a circle.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from simengine.scenario.conditions import NEVER_SO, Condition, Observed, leaves
from simengine.scenario.model import (
    Adjust,
    AnyAdjust,
    Course,
    Infant,
    Instead,
    State,
    Transition,
    Word,
)
from simengine.scenario.physiology import BACK, Begins, Care, Complication, Physiology, Rule
from simengine.scenario.place import Place, text_of
from simengine.scenario.read_adjust import read_adjusts, read_instead
from simengine.scenario.read_conditions import Context, read_condition, scope_of
from simengine.scenario.read_fields import read_fields
from simengine.scenario.read_state import read_state

NO_PHYSIOLOGY = Physiology("", "", {}, {}, {})


class TurnedOn(NamedTuple):
    """A complication, and a state of the scenario in which it may begin."""

    complication: Complication
    state: str

    def name(self, phase: str) -> str:
        """Return the name of the copy of one of its states; the first has the complication's."""
        own = f"{self.state}-{self.complication.name}"
        return own if phase == next(iter(self.complication.states)) else f"{own}-{phase}"


def read_physiology(root: Place, context: Context) -> tuple[Physiology, Context]:
    """Read a file of physiology for a scenario; its care is known to the context returned.

    Care may ask for care above it.
    """
    care: dict[str, Care] = {}
    at = root.get("care")
    for name, place in at.entries("a map of care") if at is not None else ():
        given = read_fields(Care, place, scope_of(context))
        when = place.need("when")
        condition = (
            read_condition(when, replace(context, guards=True)) if when is not None else None
        )
        if condition is not None:
            care[name] = Care(name=name, condition=condition, **given)
            known = {name: entry.condition for name, entry in care.items()}
            context = replace(context, care=known)
    physiology = Physiology(
        **read_fields(Physiology, root, scope_of(context)),
        care=care,
        rules=dict(_rules(root.get("rules"), context)),
        complications=dict(_complications(root.get("complications"), context)),
    )
    return physiology, context


def _rules(place: Place | None, context: Context) -> Iterator[tuple[str, Rule]]:
    for name, at in place.entries("a map of rules") if place is not None else ():
        adjust = _adjusted(at.need("adjust"), context)
        yield name, Rule(name=name, adjust=adjust, **read_fields(Rule, at, scope_of(context)))


def _adjusted(place: Place | None, context: Context) -> dict[str, tuple[AnyAdjust, ...]]:
    adjusts: dict[str, tuple[AnyAdjust, ...]] = {}
    for name, value in place.entries("a map of observations") if place is not None else ():
        assert place is not None
        key = place.key(name)
        known = key.name_of_key(context.vocabulary.observations, context.an_observation)
        if known is None:
            continue
        observation = context.vocabulary.observations[known]
        if observation.unit is not None:
            adjusts[known] = read_adjusts(value, observation.unit, context)
        else:
            adjusts[known] = read_instead(value, observation, context)
    return adjusts


def _complications(place: Place | None, context: Context) -> Iterator[tuple[str, Complication]]:
    for name, at in place.entries("a map of complications") if place is not None else ():
        begins_at, states_at = at.get("begins"), at.get("states")
        names = [phase for phase, _ in states_at.entries("a map of states")] if states_at else []
        scope = scope_of(context, {"state": ([*names, BACK], f"a state of '{name}', or '{BACK}'")})
        guards = scope._replace(context=replace(context, guards=True))
        begins = Begins(**read_fields(Begins, begins_at, guards)) if begins_at else None
        if begins_at is not None and begins == Begins(words=begins.words if begins else ""):
            begins_at.say("'when' or 'on'", "never-due", found="neither of them")
        states = {
            phase: read_state(phase, value, scope)
            for phase, value in (states_at.entries() if states_at is not None else ())
        }
        yield (
            name,
            Complication(
                name=name,
                begins=begins,
                states=states,
                adjust=_adjusted(at.get("adjust"), context),
                **read_fields(Complication, at, scope_of(context)),
            ),
        )


def circle_in(states: Iterable[State]) -> str | None:
    """Return an observation whose shifts look at it, by whatever way; ``None`` if there is none."""
    looks_at: dict[str, set[str]] = {}
    for state in states:
        for observation, shown in state.shows.items():
            adjusts: Iterable[AnyAdjust] = () if isinstance(shown, str) else shown.adjust
            looks_at.setdefault(observation, set()).update(
                leaf.observation
                for adjust in adjusts
                if adjust.condition is not None
                for leaf in leaves(adjust.condition)
                if isinstance(leaf, Observed)
            )
    for first, seen in looks_at.items():
        reached: set[str] = set()
        todo = set(seen)
        while todo:
            name = todo.pop()
            if name == first:
                return first
            if name not in reached:
                reached.add(name)
                todo |= looks_at.get(name, set())
    return None


def read_without(place: Place | None, physiology: Physiology) -> dict[str, str]:
    """Read ``without``: the rules that a scenario sets aside, each with the reason."""
    if place is None:
        return {}
    reasons: dict[str, str] = {}
    for name, reason in place.entries("a map of rules to reasons"):
        known = place.key(name).name_of_key(physiology.rules, "a rule of the physiology")
        if known is not None:
            reasons[known] = reason.text("a reason")
    return reasons


def read_turned_on(place: Place | None, physiology: Physiology) -> dict[str, tuple[Place, ...]]:
    """Read ``complications``: the places of the states in which each may begin."""
    if place is None:
        return {}
    states_of: dict[str, tuple[Place, ...]] = {}
    for name, states in place.entries("a map of complications to states"):
        known = place.key(name).name_of_key(
            physiology.complications, "a complication of the physiology"
        )
        if known is not None:
            states_of[known] = tuple(states.one_or_more("a state, or a list of them"))
    return states_of


def names_made(
    turned_on: Mapping[str, Iterable[Place]], physiology: Physiology
) -> dict[str, TurnedOn]:
    """Return the names of the states that complications bring, and where each comes from."""
    return {
        turned.name(phase): turned
        for name, places in turned_on.items()
        for place in places
        for turned in [TurnedOn(physiology.complications[name], text_of(place))]
        for phase in turned.complication.states
    }


def with_complications(
    states: Mapping[str, State],
    turned_on: Mapping[str, Iterable[Place]],
    physiology: Physiology,
    filed: Collection[str],
) -> dict[str, State]:
    """Return the states with those of the complications that are turned on."""
    out = dict(states)
    for name, places in turned_on.items():
        for place in places:
            state = place.name(filed, "a state of this scenario")
            if state is None or state not in out:
                continue
            if any(
                isinstance(shown, Course) and shown.start is not None
                for shown in out[state].shows.values()
            ):
                place.say(
                    "a state without 'from'",
                    "starts-anew",
                    found=f"'{state}'",
                    hint="a complication leads back to it, and its numbers would jump",
                )
                continue
            complication = physiology.complications[name]
            if complication.states:
                _turn_on(TurnedOn(complication, state), out)
            out[state] = _with_shifts(out[state], complication.adjust)
    return out


def _turn_on(turned: TurnedOn, states: dict[str, State]) -> None:
    came_from = states[turned.state]
    begins, phases = turned.complication.begins, turned.complication.states
    for phase, state in phases.items():
        ways = tuple(
            replace(way, to=turned.state if way.to == BACK else turned.name(way.to))
            for way in state.next
        )
        name = turned.name(phase)
        states[name] = replace(state, name=name, next=ways)
    if begins is None:
        return
    way = Transition(
        index=len(came_from.next),
        to=turned.name(next(iter(phases))),
        on=begins.on,
        when=begins.when,
        lasting_ms=begins.lasting_ms,
        words=begins.words,
    )
    states[turned.state] = replace(came_from, next=(*came_from.next, way))


def with_rules(
    states: Mapping[str, State], rules: Iterable[Rule], without: Collection[str], infant: Infant
) -> dict[str, State]:
    """Return the states with what the rules for this baby shift, those of ``without`` left out."""
    shifts: dict[str, tuple[AnyAdjust, ...]] = {}
    for rule in rules:
        its_baby = rule.gestation is None or rule.gestation.contains(infant.gestation_days)
        if its_baby and rule.name not in without:
            for observation, adjusts in rule.adjust.items():
                shifts[observation] = (*shifts.get(observation, ()), *adjusts)
    shared: list[Condition] = []
    shifts = {
        observation: tuple(_sharing(adjust, shared) for adjust in adjusts)
        for observation, adjusts in shifts.items()
    }
    return {name: _with_shifts(state, shifts) for name, state in states.items()}


def _sharing(adjust: AnyAdjust, conditions: list[Condition]) -> AnyAdjust:
    """Let equal conditions be one, so that the engine judges it once for all that it shifts."""
    condition = adjust.condition
    if condition is None:
        return adjust
    for known in conditions:
        if known == condition:
            return replace(adjust, condition=known)
    conditions.append(condition)
    return adjust


def _with_shifts(state: State, shifts: Mapping[str, tuple[AnyAdjust, ...]]) -> State:
    if not shifts.keys() & state.shows.keys():
        return state
    shows = {
        observation: _followed(shown, shifts.get(observation, ()))
        if isinstance(shown, Course)
        else shown
        if observation in state.keeps
        else _worded(shown, shifts.get(observation, ()))
        for observation, shown in state.shows.items()
    }
    return replace(state, shows=shows)


def _worded(shown: Word | str, shared: tuple[AnyAdjust, ...]) -> Word | str:
    added = tuple(
        adjust for adjust in shared if isinstance(adjust, Instead) and adjust.condition != NEVER_SO
    )
    if not added:
        return shown
    return Word(shown, added) if isinstance(shown, str) else Word(shown.to, (*shown.adjust, *added))


def _followed(course: Course, shared: tuple[AnyAdjust, ...]) -> Course:
    own = {adjust.setting for adjust in course.adjust if isinstance(adjust, Adjust)}
    added = tuple(
        adjust
        for adjust in shared
        if not (isinstance(adjust, Adjust) and adjust.setting in own)
        and adjust.condition != NEVER_SO
    )
    return replace(course, adjust=(*course.adjust, *added)) if added else course
