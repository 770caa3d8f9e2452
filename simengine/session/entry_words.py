"""Tell an entry of the log in words, as a person reads it.

Rules of this file:

- A value is told in the unit in which it was read.
- Names come from the vocabulary and the scenario; a name that neither knows is told as it stands.
- Who did something is told where that is none of their roles: somebody who was called.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from simengine.quantities import format_duration, format_quantity
from simengine.quantities.formatting import capitalised, in_a_sentence
from simengine.scenario.key import USUAL_WAY
from simengine.scenario.model import Scenario
from simengine.session.events import Event
from simengine.session.reading import reading_of
from simengine.session.record import Reading

HOW = {
    "done": "",
    "simulated": "simulated",
    "said": "said",
    "ordered": "ordered",
    "attempted": "attempted",
}
"""The ways of doing an action, in words beside it."""


plain, opened = in_a_sentence, capitalised


def entry_words(scenario: Scenario, event: Event) -> str:
    """Return an event (as corrected) in words: ``Ventilation: peak pressure (PIP) 30 cmH2O``."""
    tell = _TELL.get(event.kind)
    return tell(scenario, event.data) if tell is not None else capitalised(event.kind)


def reading_words(reading: Reading) -> str:
    """Tell a value as somebody read it: ``80 mmHg``, ``off``."""
    if isinstance(reading.value, str):
        return reading.value
    if reading.unit is None:
        return f"{reading.value:g}"
    return format_quantity(reading.value, reading.unit)


def _action(scenario: Scenario, data: Mapping[str, Any]) -> str:
    vocabulary = scenario.vocabulary
    name = str(data.get("action", ""))
    action = vocabulary.actions.get(name)
    label = action.label if action is not None else name
    if data.get("phase") == "stop":
        label = f"{label} stopped"
    label += _whoever_was_called(scenario, data)
    more = []
    way = HOW.get(str(data.get("how", USUAL_WAY)), "")
    if way:
        more.append(way)
    for what, table in (("settings", vocabulary.settings), ("spoken", vocabulary.observations)):
        given = data.get(what)
        if isinstance(given, Mapping):
            for key, raw in given.items():
                reading = reading_of(raw)
                if reading is not None:
                    known = table.get(key)
                    label_words = in_a_sentence(known.label) if known is not None else key
                    more.append(f"{label_words} {_reading(reading, known)}")
    dose = data.get("dose")
    if isinstance(dose, Mapping):
        more += [_dose_part(scenario, name, str(route), raw) for route, raw in dose.items()]
    if isinstance(data.get("order"), str):
        more.append(data["order"])
    return f"{label}: {', '.join(more)}" if more else label


def _reading(reading: Any, known: Any) -> str:
    if reading.unit is None and known is not None and known.unit and reading.value != "":
        return f"{reading_words(reading)} {known.unit}"
    return reading_words(reading)


def _dose_part(scenario: Scenario, action: str, part: str, raw: Any) -> str:
    if part == "route":
        known = scenario.vocabulary.actions.get(action)
        routes = known.dose.routes if known is not None and known.dose is not None else {}
        return in_a_sentence(routes.get(str(raw), str(raw)))
    reading = reading_of(raw)
    return f"{part} {reading_words(reading)}" if reading is not None else part


def _set(scenario: Scenario, data: Mapping[str, Any]) -> str:
    name = str(data.get("setting", ""))
    setting = scenario.vocabulary.settings.get(name)
    reading = reading_of(data)
    label = setting.label if setting is not None else name
    words = f"{label} {_reading(reading, setting)}" if reading is not None else label
    return words + _whoever_was_called(scenario, data)


def _state(scenario: Scenario, data: Mapping[str, Any]) -> str:
    name = str(data.get("state", ""))
    state = scenario.states.get(name)
    words = state.title if state is not None else name
    return f"{words} (late)" if data.get("late") is True else words


def _fault(scenario: Scenario, data: Mapping[str, Any]) -> str:
    fault = scenario.start.faults.get(str(data.get("fault", "")))
    shows = fault.shows if fault is not None else str(data.get("fault", ""))
    verbs = {"planted": "Planted", "found": "Found", "mended": "Put right"}
    words = f"{verbs.get(str(data.get('status')), 'Fault')}: {in_a_sentence(shows)}"
    return words + _whoever_was_called(scenario, data)


def _whoever_was_called(scenario: Scenario, data: Mapping[str, Any]) -> str:
    role = data.get("role")
    roles = {*scenario.roles, *scenario.vocabulary.roles}
    return f" ({role})" if isinstance(role, str) and role and role not in roles else ""


def _reveal(scenario: Scenario, data: Mapping[str, Any]) -> str:
    name = str(data.get("observation", ""))
    observation = scenario.vocabulary.observations.get(name)
    label = observation.label if observation is not None else name
    if data.get("once") is True:
        return f"{label} told by the facilitator"
    return f"{label} {'hidden' if data.get('shown') is False else 'shown'} by hand"


def _person(scenario: Scenario, data: Mapping[str, Any], does: str) -> str:
    role = str(data.get("role", ""))
    label = scenario.roles.get(role, scenario.vocabulary.roles.get(role, role))
    return f"{data.get('person', '')} {does} {in_a_sentence(label)}"


def _item(scenario: Scenario, data: Mapping[str, Any]) -> str:
    item = next((candidate for candidate in scenario.key if candidate.id == data.get("item")), None)
    return f"Not observed: {in_a_sentence(item.title if item else str(data.get('item', '')))}"


def _away(scenario: Scenario, data: Mapping[str, Any]) -> str:
    vocabulary = scenario.vocabulary
    action = vocabulary.actions.get(str(data.get("action", "")))
    setting = vocabulary.settings.get(str(data.get("setting", "")))
    named = action or setting
    words = named.label if named is not None else str(data.get("text", ""))
    return f"Not there: {in_a_sentence(words)}"


def _skip(scenario: Scenario, data: Mapping[str, Any]) -> str:
    ms = data.get("ms")
    action = scenario.vocabulary.actions.get(str(data.get("action", "")))
    length = format_duration(ms) if isinstance(ms, int) else ""
    return f"Skipped {length}" + (f": {in_a_sentence(action.label)}" if action is not None else "")


def _text(_: Scenario, data: Mapping[str, Any]) -> str:
    return str(data.get("text", ""))


_TELL: dict[str, Any] = {
    "action": _action,
    "set": _set,
    "state": _state,
    "fault": _fault,
    "reveal": _reveal,
    "event": lambda _, data: capitalised(str(data.get("name", "")).replace("_", " ")),
    "cue": lambda _, data: f"Cue: {data.get('text', '')}",
    "note": _text,
    "information": lambda _, data: f"Told: {data.get('text', '')}",
    "undone": lambda *_: "Taken back",
    "pause": lambda *_: "Paused",
    "resume": lambda *_: "Goes on",
    "hold": lambda *_: "Automatic steps held",
    "release": lambda *_: "Automatic steps released",
    "joined": lambda scenario, data: _person(scenario, data, "joined:"),
    "left": lambda scenario, data: _person(scenario, data, "left:"),
    "role": lambda scenario, data: _person(scenario, data, "takes"),
    "unobserved": _item,
    "unavailable": _away,
    "skip": _skip,
    "returned": lambda *_: "Cot returned to service",
    "confirmed": lambda *_: "Record confirmed",
    "signed": lambda *_: "Outcome signed",
    "appealed": lambda *_: "Seen differently",
    "superseded": lambda *_: "Outcome superseded",
    "put_away": lambda _, data: f"Put away: {data.get('reason', '')}",
    "closed": lambda _, data: f"Ended: {data.get('why', '')}",
}
