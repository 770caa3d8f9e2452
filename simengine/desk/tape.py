"""The tape: every entry of the log at its instant, in words, with what may be corrected.

Rules of this file:

- An entry is told as corrected; one that was removed is told as it was, and marked.
- Corrections themselves are no entries. What the program wrote can't be corrected.
- A value is told in the unit in which it was read.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from heapq import nlargest
from typing import Any

from simengine.desk.scene import Scene
from simengine.desk.view import Cue, Entry, Figure, Note
from simengine.scenario.key import USUAL_WAY
from simengine.session.account import PROGRAM
from simengine.session.corrections import can_be_corrected
from simengine.session.entry_words import entry_words
from simengine.session.events import Event
from simengine.session.reading import reading_of

_NO_ENTRY = frozenset({"amend", "opened"})
MOST_SHOWN = 300
"""On a console that records; a session of ten minutes has about 60. The review has all."""
_WRITTEN_LAST = 50


def tape_of(scene: Scene, most: int | None = None) -> tuple[Entry, ...]:
    """Return the entries in order of their instants.

    ``most``: of a long record only so many, those at the latest instants, and what was written
    down last, whenever that was.
    """
    corrected = {event.id: event for event in scene.session.effective}
    amended = {str(event.data.get("id")) for event in scene.fold.events if event.kind == "amend"}
    events = [event for event in scene.fold.events if event.kind not in _NO_ENTRY]
    if most is not None and len(events) > most:
        events = _latest(events, corrected, most)
    entries = [
        _entry(scene, event, corrected.get(event.id), event.id in amended) for event in events
    ]
    entries.sort(key=lambda entry: (entry.at_ms, entry.seq))
    return tuple(entries)


def entries_in(scene: Scene) -> int:
    """Return how many entries the whole record has."""
    return sum(event.kind not in _NO_ENTRY for event in scene.fold.events)


def _latest(events: Sequence[Event], corrected: Mapping[str, Event], most: int) -> list[Event]:
    """The events at the latest instants and those written down last, in the order of the log."""

    def instant(event: Event) -> tuple[int, int]:
        return corrected.get(event.id, event).at_ms, event.seq

    chosen = {event.id for event in nlargest(most, events, key=instant)}
    chosen |= {event.id for event in events[-_WRITTEN_LAST:]}
    return [event for event in events if event.id in chosen]


def last_entry_of(tape: tuple[Entry, ...]) -> str | None:
    """Return the id of the last action or setting, for "same moment as the last"."""
    acts = [entry for entry in tape if entry.kind in ("action", "set") and not entry.removed]
    return max(acts, key=lambda act: act.seq).id if acts else None


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
    return tuple(Note(finding.words, finding.event_ids) for finding in scene.session.findings)


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
        words=entry_words(scene.scenario, shown),
        role=data.get("role") if isinstance(data.get("role"), str) else None,
        action=name if isinstance(name, str) else None,
        setting=setting if isinstance(setting, str) else None,
        phase=str(data.get("phase", "done")) if event.kind == "action" else None,
        how=str(data.get("how", USUAL_WAY)) if event.kind == "action" else None,
        settings=_settings(event.kind, data),
        dose=_figures(data.get("dose")),
        spoken=_figures(data.get("spoken")),
        by=event.by,
        by_person=by_person,
        can_move=open_to,
        can_remove=open_to,
        corrected=amended and standing is not None,
        removed=standing is None,
    )


def _settings(kind: str, data: Mapping[str, Any]) -> tuple[tuple[str, Figure], ...]:
    return _figures({str(data.get("setting")): data} if kind == "set" else data.get("settings"))


def _figures(given: Any) -> tuple[tuple[str, Figure], ...]:
    if not isinstance(given, Mapping):
        return ()
    out = []
    for name, raw in given.items():
        reading = reading_of({"value": raw} if isinstance(raw, str) else raw)
        if reading is not None:
            out.append((str(name), Figure(reading.value, reading.unit)))
    return tuple(out)
