"""Which quantity of a marking guide each value of a protocol speaks of, read from YAML.

Rules of this file:

- One file for a vocabulary, ``agreement/ID.yaml``; a hospital's own comes before the shipped one.
- It holds no figures: a protocol has these, each with its source.
- A value that names nothing to compare with, or two things, is a problem of the file.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Literal, NamedTuple

from simengine.scenario.forms import FORMAT, NAME, Choice, Key, ListOf, MapOf, Record
from simengine.scenario.opened import opened
from simengine.scenario.place import Book, Place
from simengine.scenario.schema import settle
from simengine.scenario.vocabulary import Vocabulary

Aspect = Literal["setting", "observed", "dose", "strength", "ideal", "every", "lasting"]


class Subject(NamedTuple):
    """What a protocol value speaks of: an ``aspect`` of a setting, observation or action.

    ``routes``: of a dose, for these alone (empty: all). ``action``, ``anchor``: only in items that
    ask for this action, and only in those that are counted from there (``None``: in all).
    """

    aspect: Aspect
    name: str
    routes: tuple[str, ...] = ()
    action: str | None = None
    anchor: Literal["clock", "start"] | None = None


ASPECTS: Mapping[Aspect, str] = {
    "setting": "A setting that items check.",
    "observed": "An observation that 'whenever' names.",
    "dose": "The dose of this action.",
    "strength": "The strength of this action's drug.",
    "ideal": "The time by which this action is asked.",
    "every": "How often this action is asked again.",
    "lasting": "How long a condition lasts before this action is asked.",
}
COUNTED_FROM = Choice(("clock", "start"))
SUBJECT = Record(
    "a quantity of the marking guide",
    {
        **{aspect: Key(NAME, about) for aspect, about in ASPECTS.items()},
        "routes": Key(ListOf(NAME, "a list of routes"), "Of a dose: only for these."),
        "with": Key(NAME, "Only in items that ask for this action."),
        "from": Key(COUNTED_FROM, "Only in items counted from there."),
    },
    name="subject",
)
FILE = Record(
    "which quantity each value of a protocol speaks of",
    {
        "format": Key(FORMAT, needed=True),
        "vocabulary": Key(NAME, "The id of the vocabulary.", needed=True),
        "values": Key(
            MapOf(SUBJECT, "a map of protocol values"),
            "Each value of a protocol, and what it speaks of.",
            needed=True,
        ),
    },
    about="What check compares, to say where a marking guide and a protocol disagree.",
)
"""What a file of agreement holds."""


def read_agreement(path: Path, vocabulary: Vocabulary) -> tuple[Mapping[str, Subject], Book]:
    """Read a file for a vocabulary: value → what it speaks of, and the problems of the file."""
    root, book = opened("agreement", path)
    if root is None:
        return {}, book
    values = root.need("values")
    subjects = {
        name: subject
        for name, place in (values.entries() if values is not None else ())
        if (subject := _subject(place, vocabulary)) is not None
    }
    settle(book)
    return subjects, book


def _subject(place: Place, vocabulary: Vocabulary) -> Subject | None:
    given = [aspect for aspect in ASPECTS if place.get(aspect) is not None]
    if len(given) != 1:
        if place.is_map():
            aspects = " and ".join(f"'{aspect}'" for aspect in given) or "none of them"
            place.say(f"one of {', '.join(ASPECTS)}", "item-kind", found=aspects)
        return None
    aspect: Aspect = given[0]
    at = place.get(aspect)
    assert at is not None
    allowed, what = {
        "setting": (vocabulary.settings, "a setting"),
        "observed": (vocabulary.observations, "an observation"),
    }.get(aspect, (vocabulary.actions, "an action"))
    name = at.name(allowed, f"{what} of vocabulary '{vocabulary.id}'")
    only, anchor, routes = place.get("with"), place.get("from"), place.get("routes")
    action = (
        only.name(vocabulary.actions, f"an action of vocabulary '{vocabulary.id}'")
        if only is not None
        else None
    )
    if name is None:
        return None
    dose = vocabulary.actions[name].dose if name in vocabulary.actions else None
    if aspect in ("dose", "strength") and dose is None:
        at.say("an action that carries a dose", "no-dose")
        return None
    named = [
        item.name(dose.routes if dose is not None else (), f"a route of '{name}'")
        for item in (routes.elements("a list of routes") if routes is not None else ())
    ]
    word = anchor.word(COUNTED_FROM.values) if anchor is not None else None
    return Subject(
        aspect,
        name,
        tuple(route for route in named if route is not None),
        action,
        "clock" if word == "clock" else "start" if word == "start" else None,
    )
