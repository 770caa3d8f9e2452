"""A value as it stands in the log, and the same in the vocabulary's unit.

Rules of this file:

- A reading keeps the unit that it was read in; it is compared after conversion.
- Without a unit it is taken in the vocabulary's own.
- What can't be read (a word where a number belongs, a unit of something else) is ``Unreadable``,
  with words for a finding; it is never guessed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite
from typing import Any

from simengine.quantities.units import convert, known_unit
from simengine.scenario.vocabulary import Setting
from simengine.scenario.wanted import Value
from simengine.session.record import Reading

_BEYOND_ANYTHING = 1e12
"""So that no curve runs away; what is merely not plausible is for the vocabulary to say."""


@dataclass(frozen=True, slots=True)
class Unreadable:
    """Why a value could not be read."""

    words: str


def reading_of(raw: Any) -> Reading | None:
    """Return ``{value, unit}`` of the log, or a bare word or number, as a reading."""
    unit = None
    if not isinstance(raw, str | float | int) and isinstance(raw, Mapping):
        unit = raw.get("unit")
        raw = raw.get("value")
    if unit is not None and not isinstance(unit, str):
        return None
    if isinstance(raw, str):
        return Reading(raw, unit)
    if type(raw) in (int, float) and isfinite(raw):
        return Reading(float(raw), unit)
    return None


def in_units_of(setting: Setting, reading: Reading | None) -> Value | Unreadable:
    """Return a reading as the number (in the setting's unit) or the word that it stands for."""
    if reading is None:
        return Unreadable(f"{setting.label}: no value was given")
    value = reading.value
    if setting.unit is None:
        if isinstance(value, str) and value in setting.words:
            return value
        return Unreadable(f"{setting.label} is one of {', '.join(setting.words)}, not {value!r}")
    if not isinstance(value, str) and abs(value) > _BEYOND_ANYTHING:
        return Unreadable(f"{setting.label}: {value:g} is beyond anything that can be set")
    if isinstance(value, str):
        return Unreadable(f"{setting.label} is a number of {setting.unit}, not {value!r}")
    if reading.unit is None or reading.unit == setting.unit:
        return value
    converted = _converted(value, reading.unit, setting.unit)
    return (
        converted
        if converted is not None
        else Unreadable(
            f"{setting.label}: {value!r} {reading.unit} can't be converted to {setting.unit}"
        )
    )


@lru_cache(maxsize=1024)
def _converted(value: float, unit: str, to: str) -> float | None:
    """``value`` in another unit; ``None`` if the unit is unknown or measures something else."""
    known = known_unit(unit)
    if known is None:
        return None
    try:
        converted = convert(value, known, to)
    except ValueError:
        return None
    return converted if isfinite(converted) else None
