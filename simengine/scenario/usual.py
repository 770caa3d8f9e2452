"""What is usual for this baby: values to be offered for one touch, and what is to be questioned.

Rules of this file:

- First comes what the protocol says for this baby: the figures of the ranges that the marking guide
  takes from it. What the vocabulary calls usual follows, each value once.
- A drug is offered as the protocol doses it by each route: amount by weight, and the volume of
  the protocol's strength, to two figures. A range is offered by its two ends. What the protocol
  does not dose, or gives no strength for, is offered without.
- A dose is questioned beyond half the lowest and twice the highest that the protocol has by its
  route; a setting, where the vocabulary calls it implausible. Both in every unit offered.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from math import floor, inf, log10

from simengine.quantities import Quantity, Range, format_quantity
from simengine.quantities.formatting import in_a_sentence
from simengine.quantities.units import convert
from simengine.scenario.key import AskedSetting
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Action, Dose, Setting

Limits = Mapping[str, tuple[float | None, float | None]]
"""For each unit the least and the greatest figure that is not questioned."""


@dataclass(frozen=True, slots=True)
class UsualDose:
    """A dose as the protocol has it by one route, for this baby.

    ``amount``: in the unit of the action's dose, or the whole of it. ``volume``: what is drawn up;
    ``None`` where no strength is known or the amount is a volume itself. ``words``: all of it but
    the strength.
    """

    route: str
    amount: Quantity
    volume: Quantity | None
    strength: Quantity | None
    words: str


def usual_values(scenario: Scenario, setting: Setting) -> tuple[float, ...]:
    """Return what a setting usually is, the protocol's own first, in the setting's unit."""
    values = [value for wanted in _asked(scenario, setting.name) for value in _figures(wanted)]
    plausible = setting.plausible
    return tuple(
        value
        for value in dict.fromkeys((*values, *setting.usual))
        if plausible is None or plausible.contains(value)
    )


def setting_limits(setting: Setting) -> Limits:
    """Return what is plausible of a setting, in each unit in which it may be read."""
    if setting.unit is None:
        return {}
    plausible = setting.plausible or Range()
    return {
        unit: (_end(plausible.low, setting.unit, unit), _end(plausible.high, setting.unit, unit))
        for unit in (setting.unit, *setting.read_in)
    }


def amount_units(dose: Dose) -> tuple[str, ...]:
    """Return the units in which an amount is told: by weight first, then of the whole."""
    whole, per, _ = dose.unit.partition("/")
    return (dose.unit, whole) if per else (dose.unit,)


def volume_unit(dose: Dose) -> str | None:
    """Return the unit of what is drawn up: what the strength is per."""
    strength = dose.strength_unit
    return strength.partition("/")[2] or None if strength is not None else None


def usual_doses(scenario: Scenario, action: Action) -> tuple[UsualDose, ...]:
    """Return the doses of a drug that the protocol has for this baby, by route."""
    dose = action.dose
    if dose is None:
        return ()
    strength = _single(scenario.strengths.get(action.name))
    return tuple(
        _usual_dose(scenario, dose, route, value, strength)
        for route, wanted in scenario.doses.get(action.name, {}).items()
        for value in _figures(wanted)
    )


def dose_limits(scenario: Scenario, action: Action) -> Mapping[str, Limits]:
    """Return for each route what is not questioned of an amount or a volume, in each unit."""
    dose = action.dose
    limits: dict[str, Limits] = {}
    for route, wanted in scenario.doses.get(action.name, {}).items():
        figures = _figures(wanted)
        if dose is not None and figures:
            limits[route] = _around(scenario, action.name, dose, figures[0] / 2, 2 * figures[-1])
    return limits


def _around(scenario: Scenario, action: str, dose: Dose, low: float, high: float) -> Limits:
    kg = scenario.infant.weight_g / 1000
    unit, *whole = amount_units(dose)
    limits = {unit: (_tidy(low), _tidy(high))}
    limits |= {whole_unit: (_short(low * kg), _short(high * kg)) for whole_unit in whole}
    strength, drawn = _single(scenario.strengths.get(action)), volume_unit(dose)
    if strength is not None and drawn is not None:
        least, most = (_volume(dose, value, kg, strength) for value in (low, high))
        limits[drawn] = (_short(least), _short(most))
    return limits


def _asked(scenario: Scenario, name: str) -> Iterator[Range]:
    """Yield the ranges of the protocol, as they are, that the guide asks of a setting."""
    for item in scenario.key:
        wanted = [item.settings.get(name)]
        if isinstance(item.asked, AskedSetting) and item.asked.setting == name:
            wanted.append(item.asked.to)
        for range_wanted in wanted:
            if (
                isinstance(range_wanted, Range)
                and range_wanted.protocol
                and range_wanted.reference == range_wanted.protocol
            ):
                yield range_wanted


def _figures(wanted: Range) -> tuple[float, ...]:
    """Return the figures that somebody wrote: one, or the ends of a range."""
    if wanted.bare:
        return (_tidy((wanted.low + wanted.high) / 2),)
    return tuple(dict.fromkeys(end for end in (wanted.low, wanted.high) if abs(end) != inf))


def _single(wanted: Range | None) -> float | None:
    """Return a strength; of a range none is the one in hand."""
    figures = _figures(wanted) if wanted is not None else ()
    return figures[0] if len(figures) == 1 and figures[0] > 0 else None


def _usual_dose(
    scenario: Scenario, dose: Dose, route: str, value: float, strength: float | None
) -> UsualDose:
    kg = scenario.infant.weight_g / 1000
    amount = Quantity(value, dose.unit)
    words = str(amount)
    drawn = volume_unit(dose)
    volume = ready = None
    if strength is not None and drawn is not None and dose.strength_unit is not None:
        volume = Quantity(_two_figures(_volume(dose, value, kg, strength)), drawn)
        ready = Quantity(strength, dose.strength_unit)
        words = f"{words}, {volume}"
    elif dose.unit.endswith("/kg"):
        whole = dose.unit.removesuffix("/kg")
        words = f"{words}, {format_quantity(_two_figures(value * kg), whole)}"
    return UsualDose(route, amount, volume, ready, f"{words}, {in_a_sentence(dose.routes[route])}")


def _volume(dose: Dose, amount: float, kg: float, strength: float) -> float:
    """Return the volume that holds an amount by weight, in the unit that the strength is per."""
    assert dose.strength_unit is not None
    whole, per, _ = dose.unit.partition("/")
    of = dose.strength_unit.partition("/")[0]
    return convert(amount * (kg if per else 1.0), whole, of) / strength


def _two_figures(value: float) -> float:
    if value <= 0:
        return value
    size = Decimal(1).scaleb(floor(log10(value)) - 1)
    return float(Decimal(repr(_tidy(value))).quantize(size, ROUND_HALF_UP))


def _tidy(value: float) -> float:
    return float(f"{value:.10g}")


def _short(value: float) -> float:
    return float(f"{value:.3g}")


def _end(value: float, unit: str, to: str) -> float | None:
    if abs(value) == inf:
        return None
    return value if unit == to else _short(convert(value, unit, to))
