"""The fields of a class of the model, read from a place by what is stated beside them.

Rules of this file:

- A field's form says how it is read (``reads``); one that no reader here knows is read by hand.
- A field that is not given, or that has a problem, is left out: so it has its default, which
  stands with the field alone.
- A field without a default that is missing or wrong gets something empty. There is a problem then,
  so nobody uses it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import Any, NamedTuple

from simengine.quantities import Range
from simengine.quantities.units import known_unit, nearest_unit
from simengine.scenario.forms import AnyForm, Key, Record, keys_of
from simengine.scenario.place import Place, text_of

Names = tuple[Collection[str] | None, str]
"""The names that are allowed (``None``: nobody can tell), and what they are, in words."""


class Scope(NamedTuple):
    """What the values of a place may be.

    ``names``: for each word that a form has in ``of``, the names that it may be. ``unit``: of
    values that are in the unit of what they belong to. ``readers``: by a form's ``reads``;
    ``context``: what they know besides.
    """

    names: Mapping[str, Names]
    readers: Mapping[str, Reader]
    unit: str | None = None
    context: Any = None


Reader = Callable[[Place, Any, Scope], Any]


def read_fields(kind: type[Any] | Record, place: Place, scope: Scope) -> dict[str, Any]:
    """Return the fields of a class that are given at a place, by name. Problems go to the book.

    ``kind``: the class, or what a place may hold of it.
    """
    values: dict[str, Any] = {}
    for name, key, reads in _readable(kind):
        reader = scope.readers.get(reads)
        if reader is None:
            continue
        at = place.need(name) if key.needed else place.get(name)
        value = reader(at, key.form, scope) if at is not None else None
        if value is not None:
            values[key.field] = value
        elif key.needed:
            values[key.field] = _EMPTY.get(reads, "")
        elif key.worked_out:
            values[key.field] = key.default
    return values


def _readable(kind: type[Any] | Record) -> tuple[tuple[str, Key, str], ...]:
    """Return the keys that fill a field by their form alone."""
    known = _READABLE.get(kind)
    if known is None:
        keys = kind.keys if isinstance(kind, Record) else keys_of(kind)
        known = _READABLE[kind] = tuple(
            (name, key, key.form.reads)
            for name, key in keys.items()
            if key.field and key.form.reads
        )
    return known


_READABLE: dict[type[Any] | Record, tuple[tuple[str, Key, str], ...]] = {}


def read_unit(place: Place | None) -> str | None:
    """Read the unit of an entry in the spelling used here."""
    if place is None:
        return None
    text = place.text("a unit, such as cmH2O")
    if not text:
        return None
    unit = known_unit(text)
    if unit is None:
        near = nearest_unit(text)
        place.say(
            "a unit, such as cmH2O, L/min or %",
            "unknown-unit",
            hint=f"did you mean '{near}'?" if near else "",
        )
    return unit


def read_texts(place: Place | None) -> dict[str, str]:
    """Read a map from names to texts; empty if it is not given."""
    if place is None:
        return {}
    return {name: value.text() for name, value in place.entries("a map of names to texts")}


def read_labels(place: Place | None) -> dict[str, str]:
    """Read a map of names to labels, each bare or beside what else is said of it."""
    if place is None:
        return {}
    return {
        name: text_of(value.need("label")) if value.is_map() else value.text()
        for name, value in place.entries("a map of names to labels")
    }


def _name(place: Place, form: Any, scope: Scope) -> str | None:
    allowed, what = scope.names[form.of]
    return None if allowed is None else place.name(allowed, what)


def _names(place: Place, form: Any, scope: Scope) -> tuple[str, ...]:
    several = isinstance(form, AnyForm)
    item = form.forms[0] if several else form.item
    places = place.one_or_more(form.title) if several else place.elements(form.title)
    named = [_name(at, item, scope) for at in places]
    return tuple(name for name in named if name is not None)


def _list(place: Place, form: Any, scope: Scope) -> tuple[Any, ...]:
    reader = scope.readers[form.item.reads]
    values = [reader(at, form.item, scope) for at in place.elements(form.title)]
    return tuple(value for value in values if value is not None)


def _quantity(place: Place, form: Any, scope: Scope) -> float | None:
    unit = form.unit or scope.unit
    return place.quantity(unit, form.usual or None) if unit else None


def _range(place: Place, form: Any, scope: Scope) -> Range | None:
    unit = form.unit or scope.unit
    return place.range(unit) if unit else None


def _fraction(place: Place, form: Any, scope: Scope) -> float | None:
    share = place.quantity("%")
    return None if share is None else share / 100


_EMPTY: Mapping[str, Any] = {
    "time": 0,
    "when": 0,
    "quantity": 0.0,
    "difference": 0.0,
    "number": 0.0,
    "range": Range(),
    "names": (),
    "texts": {},
    "labels": {},
}

PLAIN: Mapping[str, Reader] = {
    "text": lambda place, form, scope: place.text(),
    "flag": lambda place, form, scope: place.truth(),
    "whole": lambda place, form, scope: place.whole(),
    "number": lambda place, form, scope: place.number(),
    "time": lambda place, form, scope: place.duration(),
    "choice": lambda place, form, scope: form.values[place.word(form.values)],
    "unit": lambda place, form, scope: read_unit(place),
    "texts": lambda place, form, scope: read_texts(place),
    "labels": lambda place, form, scope: read_labels(place),
    "list": _list,
    "quantity": _quantity,
    "fraction": _fraction,
    "difference": lambda place, form, scope: place.difference(scope.unit) if scope.unit else None,
    "range": _range,
    "name": _name,
    "names": _names,
}
"""The readers of what needs neither a protocol nor a baby."""
