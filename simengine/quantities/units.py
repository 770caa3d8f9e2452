"""The units there are, which go together, and how a number changes from one to another.

Rules of this file:

- ``units.txt`` is the only list of units. A unit is one of its names, or names divided by ``/``
  as people write them: ``cmH2O``, ``L/min``, ``mcg/kg``, ``/min``.
- Converting within one unit is the identity: nothing is multiplied, so nothing is rounded.
- A simple unit that is so many of another (``kPa = 1000 Pa``) is converted by that figure as an
  exact fraction: the engine counts whole milliseconds, and most files need nothing else. Compound
  units and temperatures are converted by Pint, which takes long to load, when first needed.
- A share (``%``) goes with a share alone. To Pint ``mcg/kg`` is a bare number too, and a dose
  written in per cent would pass.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simengine.nearest_name import nearest_name

if TYPE_CHECKING:
    from pint import UnitRegistry

_FILE = Path(__file__).with_name("units.txt")
_SO_MANY = re.compile(r"([0-9.]+(?:e-?[0-9]+)?) (\w+(?: [*/].*)?)")


@dataclass(frozen=True, slots=True)
class _Table:
    """``names``: each spelling → the name used here; ``groups``: words → names, usual first.

    ``definitions``: name → how the file defines it.
    """

    names: dict[str, str]
    groups: dict[str, tuple[str, ...]]
    definitions: dict[str, str]


@cache
def _table() -> _Table:
    names: dict[str, str] = {}
    groups: dict[str, list[str]] = {}
    definitions: dict[str, str] = {}
    group: list[str] = []
    for line in _FILE.read_text(encoding="utf-8").splitlines():
        if line.startswith("# group: "):
            group = groups.setdefault(line.removeprefix("# group: "), [])
        elif "=" in line and not line.startswith("#"):
            name, definition, *others = (part.strip() for part in line.split(" = "))
            name = "%" if name == "percent" else name
            group.append(name)
            definitions[name] = definition
            names[name] = name
            names.update({other: name for other in others if other != "_"})
    names["°C"] = names["degC"] = "°C"
    names["°F"] = names["degF"] = "°F"
    groups["a temperature"] = ["°C", "°F", "kelvin"]
    ordered = {words: tuple(units) for words, units in groups.items()}
    return _Table(names, ordered, definitions)


@cache
def _factor(unit: str) -> Fraction | None:
    """Return how many of its base a simple unit is; ``None`` where that is not one plain figure.

    Units of one group have one base, so factors of two of them can be compared.
    """
    definition = _table().definitions.get(unit)
    if definition is None or ";" in definition:
        return None
    if definition.startswith("["):
        return Fraction(1)
    many = _SO_MANY.fullmatch(definition)
    if many is None:
        return None
    base = Fraction(1) if many[2] not in _table().definitions else _factor(many[2])
    return None if base is None else Fraction(many[1]) * base


@lru_cache(maxsize=1000)
def known_unit(text: str) -> str | None:
    """Return the unit that ``text`` spells, in the spelling used here; ``None`` if it is none."""
    parts = [part.strip() for part in text.strip().split("/")]
    names = _table().names
    if len(parts) > 1 and not parts[0]:
        tail = [names.get(part) for part in parts[1:]]
        return None if None in tail else "/" + "/".join(part for part in tail if part)
    known_parts = [names.get(part) for part in parts]
    return None if None in known_parts else "/".join(part for part in known_parts if part)


def nearest_unit(text: str) -> str | None:
    """Return the unit most like ``text``, however its letters are capitalised, if any is."""
    names = _table().names
    lower = {name.lower(): unit for name, unit in names.items()}
    nearest_parts: list[str] = []
    for part in text.strip().split("/"):
        if not part.strip():
            nearest_parts.append("")
            continue
        near = nearest_name(part.strip().lower(), lower)
        if near is None:
            return None
        nearest_parts.append(lower[near])
    return "/".join(nearest_parts)


def kind_of_unit(unit: str) -> str | None:
    """Return what a simple unit measures (``a time``); ``None`` for a compound one."""
    for words, units in _table().groups.items():
        if unit in units:
            return words
    return None


def units_like(unit: str) -> tuple[str, ...]:
    """Return units of the same kind as ``unit``, itself first: those that a message offers."""
    first, slash, rest = unit.partition("/")
    if not slash:
        group = next((g for g in _table().groups.values() if unit in g), ())
        return (unit, *(other for other in group if other != unit))
    if not first:
        return tuple("/" + other for other in units_like(rest)[:4])
    return tuple(f"{other}/{rest}" for other in units_like(first)[:4])


def same_dimension(one: str, other: str) -> bool:
    """Whether a number in unit ``one`` can be told in ``other``. Both must be known units."""
    if one == other:
        return True
    if ("%" in one) != ("%" in other):
        return False
    kinds = kind_of_unit(one), kind_of_unit(other)
    if None not in kinds:
        return kinds[0] == kinds[1]
    registry = unit_registry()
    return bool(
        registry.get_dimensionality(pint_text(one)) == registry.get_dimensionality(pint_text(other))
    )


def convert(value: float, unit: str, to: str) -> float:
    """Return ``value`` ``unit`` as a number of ``to``.

    Raises ``ValueError`` where the two don't measure the same thing.
    """
    if unit == to:
        return value
    if not same_dimension(unit, to):
        raise ValueError(f"{unit} can't be told in {to}")
    factor, other = _factor(unit), _factor(to)
    if factor is not None and other is not None and isfinite(value):
        return float(Fraction(repr(value)) * factor / other)
    registry: Any = unit_registry()
    return float(registry.convert(value, pint_text(unit), pint_text(to)))


def convert_difference(value: float, unit: str, to: str) -> float:
    """Like ``convert`` for a difference, such as a tolerance: where a scale starts is left out."""
    if unit == to:
        return value
    return convert(value, unit, to) - convert(0.0, unit, to)


def exact_time(number: str, unit: str) -> Fraction:
    """Return ``number`` (decimal text) of a unit of time as an exact number of milliseconds."""
    factor, ms = _factor(unit), _factor("ms")
    if factor is None or ms is None:
        raise ValueError(f"{unit} is no unit of time")
    return Fraction(number) * factor / ms


@cache
def unit_registry() -> UnitRegistry[Any]:
    """Return the Pint registry of the units in ``units.txt``."""
    from pint import UnitRegistry

    registry: UnitRegistry[Any] = UnitRegistry(None, cache_folder=None)
    registry.load_definitions(_FILE)
    return registry


def pint_text(unit: str) -> str:
    """Return a unit as Pint reads it."""
    text = unit.replace("%", "percent").replace("°C", "degC").replace("°F", "degF")
    return re.sub(r"^/", "1/", text)
