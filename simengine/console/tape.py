"""The tape: every entry of the log at its instant, in words, with what may be corrected.

Rules of this file:

- An entry is told as corrected; one that was removed is told as it was, and marked.
- Corrections themselves are no entries. What the program wrote can't be corrected.
- A value is told in the unit in which it was read.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from simengine.console.scene import Scene, opened, plain, reading_words
from simengine.console.view import Cue, Entry, Figure, Note
from simengine.quantities import format_duration
from simengine.session.account import PROGRAM
from simengine.session.corrections import can_be_corrected
from simengine.session.events import Event
from simengine.session.reading import reading_of

HOW = {
    "done": "",
    "simulated": "simulated",
    "said": "said",
    "ordered": "ordered",
    "attempted": "attempted",
}
"""The ways of doing an action, in words beside it."""

_NO_ENTRY = frozenset({"amend", "opened"})


def tape_of(scene: Scene) -> tuple[Entry, ...]:
    """Return the entries in order of their instants."""
    corrected = {event.id: event for event in scene.session.effective}
    amended = {str(event.data.get("id")) for event in scene.fold.events if event.kind == "amend"}
    entries = [
        _entry(scene, event, corrected.get(event.id), event.id in amended)
        for event in scene.fold.events
        if event.kind not in _NO_ENTRY
    ]
    entries.sort(key=lambda entry: (entry.at_ms, entry.seq))
    return tuple(entries)


def undo_of(tape: tuple[Entry, ...], by: str | None = None) -> str | None:
    """Return the id of the entry that was written down last and can be taken back."""
    mine = [one for one in tape if one.can_remove and not one.removed and by in (None, one.by)]
    return max(mine, key=lambda one: one.seq).id if mine else None


def last_entry_of(tape: tuple[Entry, ...]) -> str | None:
    """Return the id of the last action or setting, for "same moment as the last"."""
    acts = [one for one in tape if one.kind in ("action", "set") and not one.removed]
    return max(acts, key=lambda one: one.seq).id if acts else None


def cues_of(scene: Scene) -> tuple[Cue, ...]:
    """Return the prepared cues, each with how often it was given."""
    given = [cue.text for cue in scene.session.record.cues]
    actions = scene.scenario.vocabulary.actions
    return tuple(
        Cue(
            cue.text,
            cue.prompts,
            actions[cue.prompts].label if cue.prompts is not None else "",
            given.count(cue.text),
        )
        for cue in scene.scenario.cues
    )


def notes_of(scene: Scene) -> tuple[Note, ...]:
    """Return what the facilitator should look at in the record."""
    return tuple(Note(found.words, found.event_ids) for found in scene.session.findings)


def _entry(scene: Scene, event: Event, standing: Event | None, amended: bool) -> Entry:
    shown = standing if standing is not None else event
    data = shown.data
    by_person = event.by != PROGRAM
    open_to = by_person and can_be_corrected(event, scene.scenario.start.clock)
    name = data.get("action")
    setting = data.get("setting")
    at_ms = scene.fold.times.scenario(max(0, min(shown.at_ms, scene.log_ms)), shown.seq)
    return Entry(
        id=event.id,
        seq=event.seq,
        kind=event.kind,
        at_ms=at_ms,
        log_ms=shown.at_ms,
        words=_words(scene, shown),
        role=data.get("role") if isinstance(data.get("role"), str) else None,
        action=name if isinstance(name, str) else None,
        setting=setting if isinstance(setting, str) else None,
        phase=str(data.get("phase", "done")) if event.kind == "action" else None,
        how=str(data.get("how", "done")) if event.kind == "action" else None,
        settings=_settings(event.kind, data),
        by=event.by,
        by_person=by_person,
        can_move=open_to,
        can_remove=open_to,
        corrected=amended and standing is not None,
        removed=standing is None,
    )


def _settings(kind: str, data: Mapping[str, Any]) -> tuple[tuple[str, Figure], ...]:
    given = {str(data.get("setting")): data} if kind == "set" else data.get("settings")
    if not isinstance(given, Mapping):
        return ()
    out = []
    for name, raw in given.items():
        reading = reading_of(raw)
        if reading is not None:
            out.append((str(name), Figure(reading.value, reading.unit)))
    return tuple(out)


def _words(scene: Scene, event: Event) -> str:
    data = event.data
    tell = _TELL.get(event.kind)
    return tell(scene, data) if tell is not None else opened(event.kind)


def _action(scene: Scene, data: Mapping[str, Any]) -> str:
    vocabulary = scene.scenario.vocabulary
    name = str(data.get("action", ""))
    action = vocabulary.actions.get(name)
    label = action.label if action is not None else name
    if data.get("phase") == "stop":
        label = f"{label} stopped"
    more = []
    way = HOW.get(str(data.get("how", "done")), "")
    if way:
        more.append(way)
    for what, table in (("settings", vocabulary.settings), ("spoken", vocabulary.observations)):
        given = data.get(what)
        if isinstance(given, Mapping):
            for one, raw in given.items():
                reading = reading_of(raw)
                if reading is not None:
                    known = table.get(one)
                    said = plain(known.label) if known is not None else one
                    more.append(f"{said} {_reading(reading, known)}")
    dose = data.get("dose")
    if isinstance(dose, Mapping):
        more += [_dose_part(scene, name, str(one), raw) for one, raw in dose.items()]
    if isinstance(data.get("order"), str):
        more.append(data["order"])
    return f"{label}: {', '.join(more)}" if more else label


def _reading(reading: Any, known: Any) -> str:
    if reading.unit is None and known is not None and known.unit and reading.value != "":
        return f"{reading_words(reading)} {known.unit}"
    return reading_words(reading)


def _dose_part(scene: Scene, action: str, part: str, raw: Any) -> str:
    if part == "route":
        known = scene.scenario.vocabulary.actions.get(action)
        routes = known.dose.routes if known is not None and known.dose is not None else {}
        return plain(routes.get(str(raw), str(raw)))
    reading = reading_of(raw)
    return f"{part} {reading_words(reading)}" if reading is not None else part


def _set(scene: Scene, data: Mapping[str, Any]) -> str:
    name = str(data.get("setting", ""))
    setting = scene.scenario.vocabulary.settings.get(name)
    reading = reading_of(data)
    label = setting.label if setting is not None else name
    return f"{label} {_reading(reading, setting)}" if reading is not None else label


def _state(scene: Scene, data: Mapping[str, Any]) -> str:
    name = str(data.get("state", ""))
    state = scene.scenario.states.get(name)
    words = state.title if state is not None else name
    return f"{words} (late)" if data.get("late") is True else words


def _fault(scene: Scene, data: Mapping[str, Any]) -> str:
    fault = scene.scenario.start.faults.get(str(data.get("fault", "")))
    shows = fault.shows if fault is not None else str(data.get("fault", ""))
    said = {"planted": "Planted", "found": "Found", "mended": "Put right"}
    return f"{said.get(str(data.get('status')), 'Fault')}: {plain(shows)}"


def _reveal(scene: Scene, data: Mapping[str, Any]) -> str:
    name = str(data.get("observation", ""))
    observation = scene.scenario.vocabulary.observations.get(name)
    label = observation.label if observation is not None else name
    return f"{label} {'hidden' if data.get('shown') is False else 'shown'} by hand"


def _person(scene: Scene, data: Mapping[str, Any], does: str) -> str:
    role = str(data.get("role", ""))
    label = scene.scenario.roles.get(role, scene.scenario.vocabulary.roles.get(role, role))
    return f"{data.get('person', '')} {does} {plain(label)}"


def _item(scene: Scene, data: Mapping[str, Any]) -> str:
    item = next((one for one in scene.scenario.key if one.id == data.get("item")), None)
    return f"Not observed: {plain(item.title if item else str(data.get('item', '')))}"


def _away(scene: Scene, data: Mapping[str, Any]) -> str:
    vocabulary = scene.scenario.vocabulary
    action = vocabulary.actions.get(str(data.get("action", "")))
    setting = vocabulary.settings.get(str(data.get("setting", "")))
    named = action or setting
    words = named.label if named is not None else str(data.get("text", ""))
    return f"Not there: {plain(words)}"


def _skip(scene: Scene, data: Mapping[str, Any]) -> str:
    ms = data.get("ms")
    action = scene.scenario.vocabulary.actions.get(str(data.get("action", "")))
    told = format_duration(ms) if isinstance(ms, int) else ""
    return f"Skipped {told}" + (f": {plain(action.label)}" if action is not None else "")


def _text(_: Scene, data: Mapping[str, Any]) -> str:
    return str(data.get("text", ""))


_TELL: dict[str, Any] = {
    "action": _action,
    "set": _set,
    "state": _state,
    "fault": _fault,
    "reveal": _reveal,
    "event": lambda _, data: opened(str(data.get("name", "")).replace("_", " ")),
    "cue": lambda _, data: f"Cue: {data.get('text', '')}",
    "note": _text,
    "information": lambda _, data: f"Told: {data.get('text', '')}",
    "pause": lambda *_: "Paused",
    "resume": lambda *_: "Goes on",
    "hold": lambda *_: "Automatic steps held",
    "release": lambda *_: "Automatic steps released",
    "joined": lambda scene, data: _person(scene, data, "joined:"),
    "left": lambda scene, data: _person(scene, data, "left:"),
    "role": lambda scene, data: _person(scene, data, "takes"),
    "unobserved": _item,
    "unavailable": _away,
    "skip": _skip,
    "returned": lambda *_: "Cot returned to service",
    "confirmed": lambda *_: "Record confirmed",
    "signed": lambda *_: "Outcome signed",
    "appealed": lambda *_: "Seen differently",
    "superseded": lambda *_: "Outcome superseded",
    "closed": lambda _, data: f"Ended: {data.get('why', '')}",
}
