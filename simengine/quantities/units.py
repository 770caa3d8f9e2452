"""The units there are, which go together, and how a number changes from one to another.

Rules of this file:

- ``units.txt`` is the only list of units. A unit is one of its names, or names divided by ``/``
  as people write them: ``cmH2O``, ``L/min``, ``mcg/kg``, ``/min``.
- Converting within one unit is the identity: nothing is multiplied, so nothing is rounded.
- Times and masses are converted as exact fractions, since the engine counts whole milliseconds;
  all else is converted by Pint, which is loaded when first needed.
- A share (``%``) goes with a share alone. To Pint ``mcg/kg`` is a bare number too, and a dose
  written in per cent would pass.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pint import UnitRegistry

_FILE = Path(__file__).with_name("units.txt")

_EXACT = {
    "a time": {
        "ms": Fraction(1),
        "s": Fraction(1000),
        "min": Fraction(60_000),
        "h": Fraction(3_600_000),
        "d": Fraction(86_400_000),
        "wk": Fraction(604_800_000),
    },
    "a mass": {
        "ng": Fraction(1, 10**9),
        "mcg": Fraction(1, 10**6),
        "mg": Fraction(1, 1000),
        "g": Fraction(1),
        "kg": Fraction(1000),
    },
}


@dataclass(frozen=True, slots=True)
class _Table:
    """``names``: each spelling → the name used here; ``groups``: words → names, usual first."""

    names: dict[str, str]
    groups: dict[str, tuple[str, ...]]


@cache
def _table() -> _Table:
    names: dict[str, str] = {}
    groups: dict[str, list[str]] = {}
    group: list[str] = []
    for line in _FILE.read_text(encoding="utf-8").splitlines():
        if line.startswith("# group: "):
            group = groups.setdefault(line.removeprefix("# group: "), [])
        elif "=" in line and not line.startswith("#"):
            name, _, *others = (part.strip() for part in line.split(" = "))
            name = "%" if name == "percent" else name
            group.append(name)
            names[name] = name
            names.update({other: name for other in others if other != "_"})
    names["°C"] = names["degC"] = "°C"
    names["°F"] = names["degF"] = "°F"
    groups["a temperature"] = ["°C", "°F", "kelvin"]
    return _Table(names, {words: tuple(units) for words, units in groups.items()})


def known_unit(text: str) -> str | None:
    """Return the unit that ``text`` spells, in the spelling used here; ``None`` if it is none."""
    parts = [part.strip() for part in text.strip().split("/")]
    names = _table().names
    if len(parts) > 1 and not parts[0]:
        tail = [names.get(part) for part in parts[1:]]
        return None if None in tail else "/" + "/".join(part for part in tail if part)
    found = [names.get(part) for part in parts]
    return None if None in found else "/".join(part for part in found if part)


def nearest_unit(text: str) -> str | None:
    """Return the unit most like ``text``, however its letters are capitalised, if any is."""
    names = _table().names
    lower = {name.lower(): unit for name, unit in names.items()}
    found: list[str] = []
    for part in text.strip().split("/"):
        if not part.strip():
            found.append("")
            continue
        near = get_close_matches(part.strip().lower(), lower, n=1, cutoff=0.6)
        if not near:
            return None
        found.append(lower[near[0]])
    return "/".join(found)


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
    for factors in _EXACT.values():
        if unit in factors and to in factors:
            return float(Fraction(repr(value)) * factors[unit] / factors[to])
    registry: Any = unit_registry()
    return float(registry.convert(value, pint_text(unit), pint_text(to)))


def convert_difference(value: float, unit: str, to: str) -> float:
    """Like ``convert`` for a difference, such as a tolerance: where a scale starts is left out."""
    if unit == to:
        return value
    return convert(value, unit, to) - convert(0.0, unit, to)


def exact_time(number: str, unit: str) -> Fraction:
    """Return ``number`` (decimal text) of a unit of time as an exact number of milliseconds."""
    return Fraction(number) * _EXACT["a time"][unit]


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
