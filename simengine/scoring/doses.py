"""The credit of a dose as recorded against the dose asked.

Rules of this file:

- A dose is compared per kilogram, in the unit of the vocabulary's dose, as `session.doses` has it.
- The amount: a range is right in all its width, a bare figure with its tolerance; from there the
  credit falls in a line to 0 at half the low end and at twice the high end, both as written. A
  range with one end takes it for both.
- Route, strength, flush and the time over which it is given are parts beside it. What is asked and
  was not recorded reads "not recorded" and leaves the mean.
- Where the range depends on the route, it is the range of the route recorded. Without a route, or
  with one that is not listed (which earns 0 itself), the range that suits best gives the credit.
- Given in parts (volume in syringes), amounts add up until the low end is reached, for 10 min from
  the first; what came first stands for them all. The times over which they are given add up with
  them; where one of them was not recorded, the whole time was not.
- A ten-fold slip: outside the range, and between 8 and 12.5 times it (8 times its low end, 12.5
  times its high end), or between 1/12.5 of its low end and 1/8 of its high end.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

from simengine.quantities import Range
from simengine.scenario.key import DoseAsked
from simengine.scenario.vocabulary import Dose
from simengine.scenario.wanted import OneOf
from simengine.scoring.parts import PartCredit, part_credit
from simengine.session.doses import as_written, dose_per_kg, in_unit
from simengine.session.record import Performance, Reading

AMOUNT = "amount"
PARTS_WITHIN_MS = 600_000
"""Within how long amounts that are given in parts add up."""

_ABOUT_TEN = (8.0, 12.5)


def amount_credit(value: float, wanted: Range) -> float:
    """Return the credit in [0, 1] of an amount, see the rules of this file."""
    if wanted.contains(value):
        return 1.0
    low, high = as_written(wanted)
    if value < low or wanted.high == inf:
        none, full = low / 2, wanted.low
        if value <= none or full <= none:
            return 0.0
        return min(1.0, (value - none) / (full - none))
    none, full = 2 * high, wanted.high
    if value >= none or none <= full:
        return 0.0
    return min(1.0, (none - value) / (none - full))


def is_too_little(value: float, wanted: Range) -> bool:
    """Whether an amount is below half the low end as written."""
    return not wanted.contains(value) and value < as_written(wanted)[0] / 2


def dose_parts(
    asked: DoseAsked,
    entry: Dose,
    recorded: Mapping[str, Reading],
    amount: float | None,
    over: float | None,
) -> tuple[PartCredit, ...]:
    """Return each part of the dose that is asked, with its credit.

    ``amount``: what was given, ``over`` how long, in the units of ``entry``; ``None`` where it was
    not recorded.
    """
    out: list[PartCredit] = []
    route = recorded.get("route")
    word = str(route.value) if route is not None else None
    wanted = best_range(asked_ranges(asked, word), amount)
    if wanted is not None:
        out.append(_amount(wanted, amount))
    routes = asked.routes or tuple(asked.by_route)
    if routes:
        out.append(part_credit("route", word, OneOf(routes), 0.0))
    for name, part, unit, tolerance in (
        ("strength", asked.strength, entry.strength_unit, entry.strength_tolerance),
        ("flush", asked.flush, entry.flush_unit, entry.flush_tolerance),
    ):
        if type(part) is Range and unit is not None:
            value = in_unit(recorded.get(name), unit)
            out.append(part_credit(name, value, part, tolerance))
    if type(asked.over) is Range:
        out.append(part_credit("over", over, asked.over, entry.over_tolerance))
    return tuple(out)


def asked_ranges(asked: DoseAsked, route: str | None) -> list[Range]:
    """Return the ranges that a dose by ``route`` may be judged by."""
    if not asked.by_route:
        return [asked.amount] if type(asked.amount) is Range else []
    if route is not None and route in asked.by_route:
        wanted = asked.by_route[route]
        return [wanted] if type(wanted) is Range else []
    return [wanted for wanted in asked.by_route.values() if type(wanted) is Range]


def best_range(ranges: Sequence[Range], amount: float | None) -> Range | None:
    """Return the range that suits an amount best, the first among equals."""
    if not ranges or amount is None:
        return ranges[0] if ranges else None
    return max(ranges, key=lambda wanted: amount_credit(amount, wanted))


def times_given(
    performances: Sequence[Performance], entry: Dose, firsts: Mapping[int, int]
) -> dict[int, float | None]:
    """Return over how long each performance (by ``seq``) gave it, in the unit of ``entry``.

    ``firsts``: of each part that follows, the ``seq`` of the first, which stands for them all.
    """
    unit = entry.over_unit
    if unit is None:
        return {done.seq: None for done in performances}
    out = {done.seq: in_unit(done.dose.get("over"), unit) for done in performances}
    for follower, first in firsts.items():
        whole, part = out[first], out[follower]
        out[first] = None if whole is None or part is None else whole + part
    return out


def amounts_given(
    performances: Sequence[Performance], entry: Dose, weight_g: float, low: float
) -> tuple[dict[int, float | None], dict[int, int]]:
    """Return what each performance (by ``seq``) gave, in the unit of ``entry``, and the followers.

    In parts, the first of several stands for all that follow until ``low`` is reached; the
    followers are told with the ``seq`` of their first.
    """
    alone = {done.seq: dose_per_kg(entry, done.dose, weight_g) for done in performances}
    if not entry.in_parts:
        return alone, {}
    out = dict(alone)
    followers: dict[int, int] = {}
    first: Performance | None = None
    for done in performances:
        amount = alone[done.seq]
        if amount is None:
            continue
        sum_so_far = None if first is None else out[first.seq]
        if (
            first is None
            or sum_so_far is None
            or sum_so_far >= low - 1e-9 * abs(low)
            or done.start_ms - first.start_ms > PARTS_WITHIN_MS
        ):
            first = done
        else:
            out[first.seq] = sum_so_far + amount
            followers[done.seq] = first.seq
    return out, followers


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


def _amount(wanted: Range, value: float | None) -> PartCredit:
    if value is None:
        return PartCredit(AMOUNT, None, wanted, 0.0)
    credit = amount_credit(value, wanted)
    return PartCredit(
        AMOUNT, value, wanted, credit, not wanted.contains(value), tenfold(value, wanted)
    )
