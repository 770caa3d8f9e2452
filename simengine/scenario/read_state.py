"""A state: what the baby shows, and the ways out. Of a scenario, or of a complication."""

from __future__ import annotations

from dataclasses import replace

from simengine.scenario.model import Course, State, Transition
from simengine.scenario.place import Place
from simengine.scenario.read_adjust import read_adjusts
from simengine.scenario.read_conditions import Context, scope_of
from simengine.scenario.read_fields import Scope, read_fields
from simengine.scenario.vocabulary import Observation


def read_state(name: str, place: Place, scope: Scope) -> State:
    """Read a state. ``scope`` knows the names of the states that it may lead to."""
    context: Context = scope.context
    given = read_fields(State, place, scope)
    next_at, shows_at = place.get("next"), place.get("shows")
    shows: dict[str, Course | str] = {}
    for key, value in shows_at.entries("a map of observations") if shows_at is not None else ():
        assert shows_at is not None
        known = shows_at.key(key).name_of_key(
            context.vocabulary.observations, context.an_observation
        )
        shown = _shown(value, context.vocabulary.observations[known], context) if known else None
        if known is not None and shown is not None:
            shows[known] = shown
    guards = scope._replace(context=replace(context, guards=True))
    transitions = [
        _transition(number, item, guards)
        for number, item in enumerate(
            next_at.elements("a list of transitions") if next_at is not None else ()
        )
    ]
    title = given.pop("title") or name.replace("_", " ").capitalize()
    return State(name=name, title=title, shows=shows, next=tuple(transitions), **given)


def _shown(place: Place, observation: Observation, context: Context) -> Course | str | None:
    if observation.words:
        if place.is_map() or place.is_list():
            place.say(f"a word of '{observation.name}'", "form")
            return None
        return place.name(observation.words, f"a word of '{observation.name}'")
    unit = observation.unit
    if unit is None:
        return None
    if place.is_scalar():
        value = place.quantity(unit)
        return Course(value) if value is not None else None
    if not place.is_map():
        place.wrong_form(f"a value such as 30 {unit}, or {{from: …, to: …, within: 30 s}}")
        return None
    course = read_fields(Course, place, scope_of(context, unit=unit))
    not_zero(place.get("within"), course.get("within_ms"))
    adjust = place.get("adjust")
    return Course(
        **course,
        adjust=read_adjusts(adjust, unit, context) if adjust is not None else (),
    )


def _transition(number: int, place: Place, scope: Scope) -> Transition:
    on, when, after, lasting = (place.get(key) for key in ("on", "when", "after", "lasting"))
    if place.is_map() and on is None and when is None and after is None:
        place.say("'on', 'when' or 'after'", "never-due", found="none of them")
    if lasting is not None and when is None:
        place.key("lasting").say("'lasting' only beside 'when'", "needless-key", found="")
    if lasting is not None and on is not None:
        place.key("lasting").say("no 'lasting' beside 'on'", "needless-key", found="")
    return Transition(index=number, **read_fields(Transition, place, scope))


def not_zero(place: Place | None, ms: int | None) -> None:
    """Say so if a time is 0 s."""
    if place is not None and place.is_sound() and ms == 0:
        place.say("a time above 0 s", "zero-time")
