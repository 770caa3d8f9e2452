"""What each dial, gauge and needle of a cot shows at an instant.

Rules of this file:

- A gauge shows what stands on it, in its own unit and to its own last digit.
- The manometer shows what gas, valves and hands make of each other at that instant; open to the
  air, next to nothing. Suction shows what it reaches while its tubing is closed, else nothing.
- An analyser reads what has come to the mask, or what a fault makes it read. What has come goes by
  the opening of the log, as the baby does: where that tells of no delay, what the dial stands at.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10

from simengine.quantities.formatting import value_words
from simengine.quantities.units import convert
from simengine.rehearsal.bench.bench_model import DIALS, PRESSURE, Dial
from simengine.rehearsal.bench.blender import mixed
from simengine.rehearsal.bench.stand import Cot, digits, effect_of, gauge_unit, number_of
from simengine.rehearsal.bench.t_piece import pressures, shown_at
from simengine.scenario.vocabulary import Setting, Supply
from simengine.scenario.wanted import Value
from simengine.session.arrival import come_by, legs_of


@dataclass(frozen=True, slots=True)
class Figure:
    """What stands on a dial: a number in ``unit``, to its last digit, or a word."""

    value: Value
    unit: str
    decimals: int = 0

    @property
    def words(self) -> str:
        """The figure as people read it."""
        return value_words(self.value, self.unit, self.decimals)

    @property
    def reading(self) -> dict[str, Value]:
        """The figure as a log has it."""
        return {"value": self.value, "unit": self.unit} if self.unit else {"value": self.value}


def needle_at(cot: Cot, at_ms: int) -> float:
    """Return what the manometer shows, in cmH2O.

    A breath that is given, or a finger on the cap, makes the peak; between breaths it is the end.
    """
    t_piece = cot.bench.file.t_piece
    loose = any(cot.value(setting) in words for setting, words in t_piece.loose.items())
    at_face = t_piece.loose_leak if loose else t_piece.face_leak
    open_to_air = 0.0 if cot.outlet_closed else at_face if cot.on_face else 1.0
    kept = cot.gas_kept * (1.0 - open_to_air)
    breath = cot.breaths is not None and cot.breaths.is_in(at_ms)
    closed = "cap" in cot.held or breath
    return shown_at(
        cot.bench.set_up, cot.places, cot.flow_at(at_ms), leak=1.0 - kept, cap_closed=closed
    )


def needle_figure(cot: Cot, at_ms: int) -> Figure:
    """Return what the manometer shows, to what its needle tells apart."""
    return Figure(digits(cot.bench, needle_at(cot, at_ms)), PRESSURE)


def oxygen_at_mask(cot: Cot, at_ms: int) -> float:
    """Return the share of oxygen at the mask: what has come of the blender's turns.

    Of a gas that has run out nothing comes, and the other gas comes in its place.
    """
    blender, left = cot.bench.file.blender, cot.gases(at_ms)
    oxygen = (_turns_arrived(cot, at_ms) - blender.air) / (1.0 - blender.air)
    if left.get("oxygen") == 0.0:
        oxygen = 0.0
    elif left.get("air") == 0.0:
        oxygen = 1.0
    return mixed(blender, 1.0 - oxygen, oxygen)


def _turns_arrived(cot: Cot, at_ms: int) -> float:
    """Return the share of oxygen that the blender was turned to and that has come to the mask."""
    account, dial = cot.fold.account, cot.bench.file.blender.oxygen
    arrival = account.arrivals.get(dial)
    if arrival is None:
        return cot.number(dial) / 100.0
    return come_by(legs_of(arrival, account.steps), at_ms) / 100.0


def figure_of(cot: Cot, setting: Setting, at_ms: int) -> Figure:
    """Return what stands on the dial of a setting when somebody looks at it now."""
    file = cot.bench.file
    gauge = _gauge_of(cot, setting)
    if gauge is not None:
        return _contents(cot, gauge, at_ms)
    if setting.name == file.suction.pressure:
        return suction_figure(cot, at_ms, closed="tubing" in cot.held)
    if setting.name == file.blender.measured:
        return Figure(float(round(_measured(cot, setting, at_ms))), "%")
    dial = dial_of(cot, setting.name)
    if dial is not None:
        return valve_figure(cot, dial, at_ms)
    value = cot.value(setting.name)
    if value is None or isinstance(value, str):
        return Figure(value or "", "")
    return Figure(value, setting.unit or "", _decimals(setting.step or 1.0))


def valve_figure(cot: Cot, dial: Dial, at_ms: int) -> Figure:
    """Return what the manometer would show of one valve with the outlet closed, as it is now.

    What leaks is lost; the relief is what the peak dial, turned full up, would come to.
    """
    flow = cot.flow_at(at_ms) * cot.gas_kept
    made = pressures(cot.bench.set_up, cot.places, flow).of(dial)
    return Figure(digits(cot.bench, made), PRESSURE)


def suction_figure(cot: Cot, at_ms: int, *, closed: bool) -> Figure:
    """Return what the gauge of the suction shows, in its own unit, with the tubing closed or not.

    A suction that a gas drives stops with it.
    """
    turned = regulator_figure(cot)
    works = closed and suction_works(cot, at_ms)
    return turned if works else Figure(0.0, turned.unit, turned.decimals)


def regulator_figure(cot: Cot) -> Figure:
    """Return what the suction is turned to: what it reaches, in the unit of its gauge."""
    suction = cot.bench.file.suction
    setting = cot.bench.scenario.vocabulary.settings[suction.pressure]
    unit = gauge_unit(cot.bench)
    step = suction.gauges[unit].step if unit in suction.gauges else setting.step or 1.0
    decimals = _decimals(step)
    reached = convert(cot.number(suction.pressure), setting.unit or "", unit)
    return Figure(round(reached, decimals), unit, decimals)


def suction_works(cot: Cot, at_ms: int) -> bool:
    """Whether the suction runs, and what drives it has not run out."""
    runs = cot.bench.file.suction.runs
    if runs not in cot.fold.account.running:
        return False
    supplies = cot.bench.scenario.vocabulary.supplies.values()
    drivers = [
        supply.name for supply in supplies if any(drain.doing == runs for drain in supply.drains)
    ]
    return all(cot.left(driver, at_ms) != 0.0 for driver in drivers)


def dial_of(cot: Cot, setting: str) -> Dial | None:
    """Return which valve of the T-piece a setting is; ``None`` where it is none."""
    t_piece = cot.bench.file.t_piece
    return next((dial for dial in DIALS if t_piece.setting_of(dial) == setting), None)


def gauge_scale(cot: Cot, setting: Setting) -> tuple[float, float] | None:
    """Return where the scale of a gauge begins and ends; ``None`` where it has no needle."""
    suction, supply = cot.bench.file.suction, _gauge_of(cot, setting)
    if setting.name == suction.pressure:
        scale = suction.gauges.get(gauge_unit(cot.bench))
        return (scale.least, scale.most) if scale is not None else None
    if supply is not None and supply.gauge is not None:
        plausible = setting.plausible
        most = plausible.high if plausible is not None else supply.gauge.full
        return (0.0, max(supply.gauge.full, most))
    return None


def _gauge_of(cot: Cot, setting: Setting) -> Supply | None:
    """Return the supply whose contents a setting tells, if it is such a gauge."""
    for supply in cot.bench.scenario.vocabulary.supplies.values():
        if supply.gauge is not None and supply.gauge.setting == setting.name:
            return supply
    return None


def _contents(cot: Cot, supply: Supply, at_ms: int) -> Figure:
    assert supply.gauge is not None
    left = cot.left(supply.name, at_ms)
    share = 1.0 if left is None else left / supply.capacity
    return Figure(float(round(supply.gauge.full * share)), supply.gauge.unit)


def _measured(cot: Cot, setting: Setting, at_ms: int) -> float:
    """Return what an analyser reads, in per cent."""
    faults = cot.bench.scenario.start.faults
    for name in cot.faults:
        effect = effect_of(cot.bench, name)
        if effect.measured is not None:
            return effect.measured
        left = faults[name].settings.get(setting.name)
        if left is not None:
            return number_of(left)
    return 100.0 * oxygen_at_mask(cot, at_ms)


def _decimals(step: float) -> int:
    """Return how many digits after the point a dial has that is turned by a step."""
    return max(0, -floor(log10(step) + 1e-9))
