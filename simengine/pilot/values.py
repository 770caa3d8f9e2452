"""Which value a team sets: one that is asked, or one that is off.

Rules of this file:

- A right value is the middle of what is asked, or its end where it is open to one side, on a step
  of the dial if one lies within.
- A value that is off lies outside by half to twice the tolerance, within what is plausible; where
  words are set, it is another word.
"""

from __future__ import annotations

from math import isinf
from random import Random

from simengine.quantities import Range
from simengine.scenario.vocabulary import Setting
from simengine.scenario.wanted import OneOf, Steps, Value, Wanted


def wanted_now(wanted: Wanted, clock_ms: int | None) -> Range | OneOf | None:
    """Return what is wanted at an instant of the team's clock; ``None`` before the first row."""
    if not isinstance(wanted, Steps):
        return wanted
    rows = [row for since, row in wanted.rows if clock_ms is not None and since <= clock_ms]
    return rows[-1] if rows else None


def is_right(value: Value | None, wanted: Range | OneOf) -> bool:
    """Whether a value is what is wanted; one that is not known is not."""
    if value is None:
        return False
    if isinstance(wanted, OneOf):
        return value in wanted.words
    return not isinstance(value, str) and wanted.contains(value)


def right_value(wanted: Range | OneOf, setting: Setting) -> Value:
    """Return a value that is wanted."""
    if isinstance(wanted, OneOf):
        return wanted.words[0]
    step = setting.step or setting.tolerance or 1.0
    return right_number(wanted, step)


def right_number(wanted: Range, step: float) -> float:
    """Return a number within ``wanted``, a step inside an open end."""
    low, high = wanted.low, wanted.high
    if isinf(low) and isinf(high):
        return 0.0
    if isinf(high):
        return low + (step if wanted.low_open else 0.0)
    if isinf(low):
        return high - (step if wanted.high_open else 0.0)
    middle = (low + high) / 2
    on_step = round(middle / step) * step
    return on_step if wanted.contains(on_step) else middle


def moved_value(value: float, setting: Setting, direction: str) -> float:
    """Return the next value ``higher`` or ``lower``: by the tolerance, at least a step."""
    by = max(setting.step or 0.0, setting.tolerance)
    return _plausible(value + (by if direction == "higher" else -by), setting)


def wrong_value(wanted: Range | OneOf, setting: Setting, chance: Random) -> Value | None:
    """Return a value that is not wanted; ``None`` if every plausible one is wanted."""
    if isinstance(wanted, OneOf):
        others = [word for word in setting.words if word not in wanted.words]
        return chance.choice(others) if others else None
    off = chance.uniform(0.5, 2.0) * (setting.tolerance or setting.step or 1.0)
    sides = [wanted.low - off, wanted.high + off]
    chance.shuffle(sides)
    for side in sides:
        if not isinf(side):
            value = _plausible(_on_step(side, setting), setting)
            if not wanted.contains(value):
                return value
    return None


def _on_step(value: float, setting: Setting) -> float:
    return round(value / setting.step) * setting.step if setting.step else value


def _plausible(value: float, setting: Setting) -> float:
    if setting.plausible is None:
        return value
    return min(max(value, setting.plausible.low), setting.plausible.high)
