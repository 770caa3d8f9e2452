"""What a catalogue of a cot holds, and its tree → ``Equipment``.

Rules of this file:

- A catalogue brings actions and settings of its own, by which its rows are checked, read and put
  right; they join those of the vocabulary that names it, and take the place of none.
- A fault is written in the words of a scenario's own. It is read here for its names and its words
  alone: what it means with a protocol, for a baby, the scenario reads that plants it.
"""

from __future__ import annotations

from collections.abc import Iterator

from simengine.scenario.equipment import Equipment, KnownFault, Row
from simengine.scenario.forms import FORMAT, Key, MapOf, Record, keys_of
from simengine.scenario.model import FAULT
from simengine.scenario.place import Place, text_of
from simengine.scenario.read_fields import PLAIN, Scope, read_fields
from simengine.scenario.vocabulary import ACTION, SETTING, Vocabulary

ROW = Record(
    "a row of the cot",
    {
        **keys_of(Row),
        "faults": Key(
            MapOf(FAULT, "a map of faults"), "What can be wrong with it: planted by name."
        ),
    },
    name="row",
)
FILE = Record(
    "a catalogue of a cot",
    {
        "format": Key(FORMAT, needed=True),
        **keys_of(Equipment),
        "settings": Key(
            MapOf(SETTING, "a map of settings"), "Dials that the vocabulary does not have."
        ),
        "actions": Key(
            MapOf(ACTION, "a map of actions"),
            "Checks, and what puts things right, that the vocabulary does not have.",
        ),
        "rows": Key(
            MapOf(ROW, "a map of rows", 1),
            "What the cot has, in the order in which it is gone through.",
            needed=True,
        ),
    },
    about=(
        "What a cot has, what each part of it should be, and what can be wrong with it. A scenario "
        "plants a fault by its name, and a practice check goes through the rows."
    ),
)
"""What a catalogue's file holds."""


def read_equipment(root: Place, vocabulary: Vocabulary) -> Equipment:
    """Read a catalogue by the names of the vocabulary that it has joined.

    Problems go to ``root.book``.
    """
    given = read_fields(Equipment, root, Scope({}, PLAIN))
    names = {
        "place": (given["places"], "a place of this catalogue"),
        "action": (vocabulary.actions, "an action of the catalogue or its vocabulary"),
        "setting": (vocabulary.settings, "a setting of the catalogue or its vocabulary"),
    }
    rows: dict[str, Row] = {}
    taken: dict[str, str] = {}
    at = root.need("rows")
    for name, place in at.entries("a map of rows") if at is not None else ():
        faults: dict[str, KnownFault] = {}
        for fault, fault_at in _faults(place):
            if fault in taken:
                fault_at.say(
                    "a name for each fault",
                    "fault-twice",
                    found=f"'{fault}' again",
                    hint=f"'{taken[fault]}' has it",
                )
            taken[fault] = name
            faults[fault] = _known(fault, fault_at, vocabulary)
        rows[name] = Row(
            name=name,
            faults=faults,
            reads=tuple(setting for setting, _ in _reads(place, vocabulary)),
            **read_fields(Row, place, Scope(names, PLAIN)),
        )
    return Equipment(**given, rows=rows)


def faults_at(root: Place) -> dict[str, tuple[str, Place]]:
    """Return for each fault of a catalogue its row, and where it stands."""
    rows = root.get("rows")
    return {
        fault: (name, at)
        for name, place in (rows.entries() if rows is not None and rows.is_map() else ())
        for fault, at in _faults(place)
    }


def _reads(row: Place, vocabulary: Vocabulary) -> Iterator[tuple[str, Place]]:
    """Go through the dials of a row: each setting, and where stands what it should be."""
    at = row.get("reads")
    what = "a setting of the catalogue or its vocabulary"
    for name, wanted in at.entries("a map of settings") if at is not None else ():
        assert at is not None
        if at.key(name).name_of_key(vocabulary.settings, what) is not None:
            yield name, wanted


def _faults(row: Place) -> Iterator[tuple[str, Place]]:
    at = row.get("faults")
    if at is not None:
        yield from at.entries("a map of faults")


def _known(name: str, place: Place, vocabulary: Vocabulary) -> KnownFault:
    shows = place.need("shows")
    mended = place.get("mended_by")
    put_right = text_of(place.get("put_right"))
    if mended is not None and mended.is_scalar() and not put_right:
        action = vocabulary.actions.get(mended.text())
        put_right = action.do if action is not None else ""
    return KnownFault(name, text_of(shows), put_right, text_of(place.get("why")))
