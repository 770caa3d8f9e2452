"""What a set-up pack says of every scenario of one vocabulary: texts and lists, read from YAML.

Rules of this file:

- A hospital's own file, beside its scenarios in ``setup_pack/``, comes before the shipped one.
- Names of actions, equations, settings and protocol values are checked against the scenario that
  the pack is for, and every problem is told at once.
- A vocabulary without such a file has a pack of what its scenarios say themselves.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from simengine.quantities import Quantity
from simengine.resources import scenarios_dir
from simengine.scenario.forms import (
    FORMAT,
    NAME,
    TEXT,
    AnyForm,
    Key,
    ListOf,
    MapOf,
    Record,
    plain_text,
)
from simengine.scenario.model import Scenario
from simengine.scenario.opened import finish, opened_or_error
from simengine.scenario.place import Place


@dataclass(frozen=True, slots=True)
class FromProtocol:
    """An input that is a value of the protocol."""

    value: str


@dataclass(frozen=True, slots=True)
class FromSetting:
    """An input that is a setting as it should be."""

    setting: str


Given = FromProtocol | FromSetting | Quantity


@dataclass(frozen=True, slots=True)
class Laid:
    """A thing to lay out, for these actions (none: always)."""

    what: str
    actions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sum:
    """A sum for this baby: an equation of the vocabulary and what goes into it."""

    title: str
    equation: str
    actions: tuple[str, ...]
    given: Mapping[str, Given]


@dataclass(frozen=True, slots=True)
class PackContents:
    """All texts and lists. ``prebrief`` and ``parent_card`` hold texts by name."""

    not_to_start: tuple[str, ...] = ()
    lay_out: tuple[Laid, ...] = ()
    sums: tuple[Sum, ...] = ()
    figures: tuple[str, ...] = ()
    cylinders_with: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()
    prebrief: Mapping[str, str] = field(default_factory=dict)
    parent_lead: str = ""
    parent_lines: tuple[str, ...] = ()
    parent_after: str = ""
    return_sheet: tuple[str, ...] = ()


OF_THE_BABY = ("weight", "gestation")
"""Inputs of a sum that the scenario's baby brings."""
PREBRIEF = {
    "fiction_contract": "What the team and the teachers agree to take as real.",
    "confidentiality": "What stays in the room.",
    "what_counts": "What is marked, and what is not.",
    "consent": "What is recorded, and who agrees to it.",
    "distress": "What is done for somebody who is distressed.",
    "stop": "How anybody stops the session.",
}
"""Texts of the prebrief, by name, and what each is for."""

_TEXTS = ListOf(TEXT, "a list of texts")
_NAMES = ListOf(NAME, "a list of names")
_FOR = Key(_NAMES, "Only where the scenario asks for one of these actions.")
_GIVEN = AnyForm(
    "{protocol: NAME}, {setting: NAME} or a quantity",
    Record(
        "{protocol: NAME} or {setting: NAME}",
        {
            "protocol": Key(NAME, "A value of the protocol."),
            "setting": Key(NAME, "A setting as it should be."),
        },
    ),
    plain_text("a quantity such as 8 L/min"),
    name="given",
)
_LAID = Record(
    "a thing to lay out",
    {"what": Key(TEXT, "The thing.", needed=True), "for": _FOR},
    name="laid",
)
_SUM = Record(
    "a sum",
    {
        "title": Key(TEXT, "What people call it.", needed=True),
        "equation": Key(NAME, "An equation of the vocabulary.", needed=True),
        "for": _FOR,
        "given": Key(
            MapOf(_GIVEN, "a map of inputs"),
            "What goes into it; the baby's weight and gestation are known.",
        ),
    },
    name="sum",
)
FILE = Record(
    "the texts of a set-up pack",
    {
        "format": Key(FORMAT, needed=True),
        "vocabulary": Key(NAME, "The id of the vocabulary.", needed=True),
        "not_to_start": Key(_TEXTS, "When not to start."),
        "lay_out": Key(ListOf(_LAID, "a list of things to lay out"), "What to lay out."),
        "sums": Key(ListOf(_SUM, "a list of sums"), "Sums for this baby."),
        "figures": Key(_NAMES, "Values of the protocol that are shown as they stand."),
        "cylinders_with": Key(
            _NAMES, "Lasting actions that empty a cylinder, told one after the other."
        ),
        "prebrief": Key(
            Record(
                "the prebrief",
                {
                    "questions": Key(_TEXTS, "Risk questions."),
                    **{name: Key(TEXT, about) for name, about in PREBRIEF.items()},
                },
            ),
            "What is said before the session.",
        ),
        "parent_card": Key(
            Record(
                "the parent's card",
                {
                    "lead": Key(TEXT, "How the parent is."),
                    "lines": Key(_TEXTS, "What the parent says."),
                    "after": Key(TEXT, "What is done afterwards."),
                },
            ),
            "For whoever plays the parent.",
        ),
        "return_sheet": Key(_TEXTS, "Returning the cot to service."),
    },
    about="What a set-up pack says of every scenario of one vocabulary.",
)
"""What a file of texts of the set-up pack holds."""


def load_contents(scenario: Scenario, folders: Sequence[Path] = ()) -> PackContents:
    """Read the texts for a scenario's vocabulary. Raises ``InputError``."""
    places = [folder / "setup_pack" for folder in (*folders, scenarios_dir())]
    files = [place / f"{scenario.vocabulary.id}.yaml" for place in places]
    file = next((file for file in files if file.is_file()), None)
    return PackContents() if file is None else read_contents(file, scenario)


def read_contents(file: Path, scenario: Scenario) -> PackContents:
    """Read one file for a scenario. Raises ``InputError`` with every problem."""
    root = opened_or_error("setup_pack", file)
    prebrief, parent = root.get("prebrief"), root.get("parent_card")
    contents = PackContents(
        not_to_start=_texts(root.get("not_to_start")),
        lay_out=tuple(_laid(place, scenario) for place in _list(root.get("lay_out"))),
        sums=tuple(_sum(place, scenario) for place in _list(root.get("sums"))),
        figures=_names(root.get("figures"), scenario.protocol.values, "a value of the protocol"),
        cylinders_with=_names(root.get("cylinders_with"), scenario.vocabulary.actions, "an action"),
        questions=_texts(prebrief.get("questions") if prebrief else None),
        prebrief={name: _text(prebrief, name) for name in PREBRIEF},
        parent_lead=_text(parent, "lead"),
        parent_lines=_texts(parent.get("lines") if parent else None),
        parent_after=_text(parent, "after"),
        return_sheet=_texts(root.get("return_sheet")),
    )
    finish(root)
    return contents


def _laid(place: Place, scenario: Scenario) -> Laid:
    what = place.need("what")
    actions = _names(place.get("for"), scenario.vocabulary.actions, "an action")
    return Laid(what.text() if what else "", actions)


def _sum(place: Place, scenario: Scenario) -> Sum:
    title, named, given = place.need("title"), place.need("equation"), place.get("given")
    equations = scenario.vocabulary.equations
    equation = named.name(equations, "an equation of the vocabulary") if named else None
    inputs = equations[equation].inputs if equation else {}
    values = {}
    if given is not None:
        given.only(tuple(inputs))
        for name, value in given.entries():
            value_given = _given(value, scenario, inputs.get(name, ""))
            if value_given is not None:
                values[name] = value_given
    written = [name for name, _ in given.entries()] if given is not None else []
    for name in inputs:
        if name not in written and name not in OF_THE_BABY:
            place.say(f"a value for '{name}' under 'given'", "missing-input", found="none")
    actions = _names(place.get("for"), scenario.vocabulary.actions, "an action")
    return Sum(title.text() if title else "", equation or "", actions, values)


def _given(place: Place, scenario: Scenario, unit: str) -> Given | None:
    if not place.is_map():
        number = place.quantity(unit) if unit else None
        return None if number is None else Quantity(number, unit)
    protocol, setting = place.get("protocol"), place.get("setting")
    if protocol is not None:
        name = protocol.name(scenario.protocol.values, "a value of the protocol")
        return FromProtocol(name) if name else None
    if setting is not None:
        name = setting.name(scenario.vocabulary.settings, "a setting")
        return FromSetting(name) if name else None
    place.say("{protocol: NAME}, {setting: NAME} or a quantity", "form")
    return None


def _list(place: Place | None) -> list[Place]:
    return place.elements() if place is not None else []


def _texts(place: Place | None) -> tuple[str, ...]:
    return tuple(" ".join(element.text().split()) for element in _list(place))


def _text(place: Place | None, key: str) -> str:
    at = place.get(key) if place is not None else None
    return " ".join(at.text().split()) if at is not None else ""


def _names(place: Place | None, allowed: Collection[str], what: str) -> tuple[str, ...]:
    names = (element.name(allowed, what) for element in _list(place))
    return tuple(name for name in names if name is not None)
