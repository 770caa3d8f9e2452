"""The credit of one value against what is asked of it.

Rules of this file:

- 1 inside the range; outside it max(0, 1 - e / t), e the distance to the nearest end and t the
  tolerance; 0 outside where t = 0. Ends compare within 1e-9 of their size.
- An open end met exactly is outside; where that end is 0 its credit is 0.
- A word gets 1 or 0. A range that changes with the clock is the row of the last instant reached;
  before its first row nothing is asked.
"""

from __future__ import annotations

from typing import NamedTuple

from simengine.quantities import Range
from simengine.scenario.wanted import OneOf, Steps, Value, Wanted
from simengine.session.truth import is_as_wanted


class PartCredit(NamedTuple):
    """One setting (or part of a dose): what was compared, and its credit.

    ``value`` is in the unit asked, ``None`` where it was not recorded: then it is no part of the
    mean. ``off``: it was recorded and is outside. ``tenfold``: words for a ten-fold slip.
    """

    name: str
    value: Value | None
    wanted: Range | OneOf
    credit: float
    off: bool = False
    tenfold: str = ""


def part_credit(
    name: str, value: Value | None, wanted: Range | OneOf, tolerance: float
) -> PartCredit:
    """Return what a value earns as a part."""
    if value is None:
        return PartCredit(name, None, wanted, 0.0)
    return PartCredit(
        name, value, wanted, value_credit(value, wanted, tolerance), not is_as_wanted(value, wanted)
    )


def value_credit(value: Value, wanted: Range | OneOf, tolerance: float) -> float:
    """Return the credit in [0, 1] of a value; 0 where a word meets a range or the reverse."""
    if is_as_wanted(value, wanted):
        return 1.0
    if type(value) is str or type(wanted) is not Range or tolerance <= 0.0:
        return 0.0
    distance = wanted.distance(value)  # type: ignore[arg-type]
    if distance == 0.0:
        end = wanted.low if wanted.low_open and value <= wanted.low else wanted.high  # type: ignore[operator]
        return 0.0 if end == 0.0 else 1.0
    return max(0.0, 1.0 - distance / tolerance)


def wanted_at(wanted: Wanted, instant: int, clock: int | None) -> Range | OneOf | None:
    """Return what is asked at an instant (ms); ``None`` where nothing is asked yet."""
    if type(wanted) is not Steps:
        return wanted  # type: ignore[return-value]
    if clock is None:
        return None
    in_force = None
    for since, row in wanted.rows:
        if clock + since > instant:
            break
        in_force = row
    return in_force
