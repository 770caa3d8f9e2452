"""The credit of a dose as recorded against the dose asked.

Rules of this file:

- A dose is compared per kilogram, in the unit of the vocabulary's dose: the amount recorded, or
  else volume times strength, or else the volume, each by the infant's weight unless its unit
  already is per kilogram.
- Amount, route, strength and flush are parts of the settings credit like any setting; what is
  asked and was not recorded gets 0 and reads "not recorded".
- Where the range depends on the route, it is the range of the route recorded; a route that is
  not listed gets 0, and a route that was not recorded leaves the amount "not recorded".
- A ten-fold slip: outside the range, and between 8 and 12.5 times it (8 times its low end, 12.5
  times its high end), or between 1/12.5 of its low end and 1/8 of its high end. A range with one
  end takes that end for both.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from simengine.quantities import Range
from simengine.quantities.units import convert, known_unit
from simengine.scenario.key import DoseAsked
from simengine.scenario.vocabulary import Dose
from simengine.scenario.wanted import OneOf, Wanted
from simengine.scoring.parts import PartCredit, value_credit
from simengine.session.record import Reading

_PER_KG = "/kg"
_ABOUT_TEN = (8.0, 12.5)


def dose_parts(
    asked: DoseAsked, entry: Dose, recorded: Mapping[str, Reading], weight_g: float
) -> tuple[PartCredit, ...]:
    """Return each part of the dose that is asked, with its credit. ``weight_g`` in grams."""
    out: list[PartCredit] = []
    route = recorded.get("route")
    word = str(route.value) if route is not None else None
    wanted: Wanted | None = asked.amount
    if asked.by_route:
        wanted = asked.by_route.get(word) if word is not None else None
    if type(wanted) is Range:
        out.append(_amount(wanted, entry, recorded, weight_g))
    elif asked.by_route:
        out.append(PartCredit("route", word, OneOf(tuple(asked.by_route)), 0.0))
    if asked.routes:
        routes = OneOf(asked.routes)
        credit = value_credit(word, routes, 0.0) if word is not None else 0.0
        if not (out and out[-1].name == "route"):
            out.append(PartCredit("route", word, routes, credit))
    for name, part, unit, tolerance in (
        ("strength", asked.strength, entry.strength_unit, entry.strength_tolerance),
        ("flush", asked.flush, entry.flush_unit, entry.flush_tolerance),
    ):
        if type(part) is Range and unit is not None:
            value = _converted(recorded.get(name), unit)
            credit = 0.0 if value is None else value_credit(value, part, tolerance)
            out.append(PartCredit(name, value, part, credit))
    return tuple(out)


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
        drawn = _converted(volume, per)
        strong = _converted(strength, strength_unit)
        if drawn is None or strong is None:
            return None
        return _per_kg(Reading(drawn * strong, in_mass), entry.unit, weight_kg)
    return _per_kg(volume, entry.unit, weight_kg)


def tenfold(value: float, wanted: Range) -> str:
    """Return words for a dose that is ten times, or a tenth of, what is asked; else nothing."""
    if wanted.distance(value) == 0.0:
        return ""
    low = wanted.low if wanted.low != -inf else wanted.high
    high = wanted.high if wanted.high != inf else low
    if not 0.0 < low <= high < inf:
        return ""
    few, many = _ABOUT_TEN
    if few * low <= value <= many * high:
        return "about ten times"
    return "about a tenth of" if low / many <= value <= high / few else ""


def _amount(
    wanted: Range, entry: Dose, recorded: Mapping[str, Reading], weight_g: float
) -> PartCredit:
    value = dose_per_kg(entry, recorded, weight_g)
    if value is None:
        return PartCredit("amount", None, wanted, 0.0)
    credit = value_credit(value, wanted, entry.tolerance)
    return PartCredit("amount", value, wanted, credit, tenfold(value, wanted))


def _per_kg(reading: Reading, unit: str, weight_kg: float) -> float | None:
    """Return a reading in ``unit``, divided by the weight where only ``unit`` is per kilogram."""
    if not unit.endswith(_PER_KG) or reading.unit is None:
        return _converted(reading, unit)
    plain = unit.removesuffix(_PER_KG)
    if reading.unit.endswith(_PER_KG):
        return _converted(Reading(reading.value, reading.unit.removesuffix(_PER_KG)), plain)
    found = _converted(reading, plain)
    return None if found is None or weight_kg <= 0.0 else found / weight_kg


def _converted(reading: Reading | None, unit: str) -> float | None:
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
