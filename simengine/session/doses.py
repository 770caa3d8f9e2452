"""What a dose comes to, in the unit of the vocabulary's dose.

Rules of this file:

- A dose is told per kilogram: the amount recorded, or else volume times strength, or else the
  volume, each by the infant's weight unless its unit already is per kilogram.
- How fast it goes in is told as the time that the least of the protocol's dose would take at that
  pace, so that a part of it may take a part of the time.
- For the infant, an amount that nobody wrote down is the protocol's, in the middle of its range:
  whoever was there saw it being given. Where the protocol has none, nothing was given.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from typing import NamedTuple

from simengine.quantities import Range
from simengine.quantities.units import convert, known_unit
from simengine.scenario.vocabulary import Dose
from simengine.session.record import Reading

_PER_KG = "/kg"


def as_written(wanted: Range) -> tuple[float, float]:
    """Return the low and the high end of a dose as somebody wrote it, without tolerance.

    A bare figure is both; a range with one end takes it for both.
    """
    low, high = wanted.low, wanted.high
    if low == -inf:
        return high, high
    if high == inf:
        return low, low
    if wanted.bare:
        middle = (low + high) / 2
        return middle, middle
    return low, high


class DoseGiven(NamedTuple):
    """A dose at an instant (ms), in the unit of its action, and its ``route``.

    ``over``: the time that the least of the protocol's dose would take at its pace, in the unit of
    the dose's time. What is ``None`` was not recorded.
    """

    at_ms: int
    amount: float
    route: str | None
    over: float | None


def dose_given(
    entry: Dose,
    recorded: Mapping[str, Reading],
    weight_g: float,
    protocol: Mapping[str, Range],
    at_ms: int,
) -> DoseGiven | None:
    """Return what the infant got; ``None``: nothing that counts.

    ``protocol``: its ranges by route.
    """
    word = recorded.get("route")
    route = str(word.value) if word is not None else None
    amount = dose_per_kg(entry, recorded, weight_g)
    wanted = protocol.get(route or "", next(iter(protocol.values()))) if protocol else None
    if amount is None and wanted is not None:
        low, high = as_written(wanted)
        amount = (low + high) / 2
    if amount is None:
        return None
    over = in_unit(recorded.get("over"), entry.over_unit) if entry.over_unit is not None else None
    if over is not None and wanted is not None and amount > 0.0:
        over *= as_written(wanted)[0] / amount
    return DoseGiven(at_ms, amount, route, over)


def dose_per_kg(entry: Dose, recorded: Mapping[str, Reading], weight_g: float) -> float | None:
    """Return the dose as recorded in the unit of ``entry``; ``None`` if it can't be told."""
    weight_kg = weight_g / 1000.0
    amount = recorded.get("amount")
    if amount is not None:
        return _per_kg(amount, entry.unit, weight_kg)
    volume = recorded.get("volume")
    if volume is None:
        return None
    strength = recorded.get("strength")
    strength_unit = entry.strength_unit
    if strength_unit is not None and strength is not None and "/" in strength_unit:
        in_mass, _, per = strength_unit.partition("/")
        drawn = in_unit(volume, per)
        strong = in_unit(strength, strength_unit)
        if drawn is None or strong is None:
            return None
        return _per_kg(Reading(drawn * strong, in_mass), entry.unit, weight_kg)
    return _per_kg(volume, entry.unit, weight_kg)


def _per_kg(reading: Reading, unit: str, weight_kg: float) -> float | None:
    """Return a reading in ``unit``, divided by the weight where only ``unit`` is per kilogram."""
    if not unit.endswith(_PER_KG) or reading.unit is None:
        return in_unit(reading, unit)
    plain = unit.removesuffix(_PER_KG)
    if reading.unit.endswith(_PER_KG):
        return in_unit(Reading(reading.value, reading.unit.removesuffix(_PER_KG)), plain)
    amount = in_unit(reading, plain)
    return None if amount is None or weight_kg <= 0.0 else amount / weight_kg


def in_unit(reading: Reading | None, unit: str) -> float | None:
    """Return a reading as a number of ``unit``; ``None`` if there is none or it does not go."""
    if reading is None or type(reading.value) is str or reading.unit is None:
        return None
    spelt = known_unit(reading.unit)
    if spelt is None:
        return None
    try:
        return convert(float(reading.value), spelt, unit)
    except ValueError:
        return None
