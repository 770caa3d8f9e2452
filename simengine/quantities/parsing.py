"""Reading quantities, durations and ranges as an educator writes them.

Rules of this file:

- A quantity is a number and its unit; a bare number is an error that names the units it takes.
- The decimal sign is a point. A minus may be the typed one or the printed one.
- Times may be given in several parts, largest first: ``39 wk 2 d``, ``1 min 30 s``.
- ``at least``, ``at most``, ``to`` and ``±`` include their ends; ``above`` and ``below`` do not.
- Ends of a range are worked out in decimal, as written, and only then converted.
- Every error says what was found, what is allowed and, where it can be guessed, what was meant.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from simengine.quantities.formatting import format_quantity
from simengine.quantities.ranges import Range
from simengine.quantities.units import (
    convert,
    convert_difference,
    exact_time,
    kind_of_unit,
    known_unit,
    nearest_unit,
    same_dimension,
    units_like,
)

_NUMBER = r"[+-]?\d+(?:\.\d+)?"
_UNIT = r"(?:/\s*)?[^\W\d_][^\s/]*(?:\s*/\s*[^\W\d_][^\s/]*)*|%|°[CF]|/\s*[^\W\d_]\S*"
_QUANTITY = re.compile(rf"({_NUMBER})\s*({_UNIT})")
_MANY_TIMES = re.compile(r"(?:\d+(?:\.\d+)?\s*[a-z]+\s+)+\d+(?:\.\d+)?\s*[a-z]+")
_TIME_PART = re.compile(r"(\d+(?:\.\d+)?)\s*([a-z]+)")
_SIDES = ("at least", "at most", "above", "below")
_MEANT = {
    "≥": "at least",
    ">=": "at least",
    "≤": "at most",
    "<=": "at most",
    ">": "above",
    "<": "below",
    "more than": "above",
    "over": "above",
    "greater than": "above",
    "less than": "below",
    "under": "below",
    "up to": "at most",
    "no more than": "at most",
    "max": "at most",
    "min": "at least",
    "minimum": "at least",
    "maximum": "at most",
}


class QuantityError(ValueError):
    """Text that is not the quantity or range asked for.

    ``expected`` and ``hint`` are words for a person; ``code`` is stable, for programs.
    """

    def __init__(self, expected: str, code: str, hint: str = "") -> None:
        self.expected = expected
        self.code = code
        self.hint = hint
        super().__init__(f"expected {expected}" + (f" ({hint})" if hint else ""))


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number and its unit."""

    value: float
    unit: str

    def to(self, unit: str) -> Quantity:
        """Return the same quantity in ``unit``; ``ValueError`` if it measures something else."""
        return Quantity(convert(self.value, self.unit, unit), unit)

    def __str__(self) -> str:
        return format_quantity(self.value, self.unit)


def parse_quantity(text: str, like: str | None = None) -> Quantity:
    """Read ``30 cmH2O``. ``like`` is a unit of the dimension asked for, if one is.

    The unit stays as written (in the spelling of ``units.txt``). Raises ``QuantityError``.
    """
    number, unit = _read(_tidy(text), like)
    return Quantity(float(number), unit)


def parse_in(text: str, unit: str) -> float:
    """Read a quantity and return it as a number of ``unit``. Raises ``QuantityError``."""
    return parse_quantity(text, unit).to(unit).value


def parse_difference(text: str, unit: str) -> float:
    """Read a difference, such as a tolerance or a step, in ``unit``. Raises ``QuantityError``."""
    difference = parse_quantity(text, unit)
    return convert_difference(difference.value, difference.unit, unit)


def parse_duration(text: str, *, negative: bool = False) -> int:
    """Read a time such as ``20 s`` or ``1 min 30 s`` as whole milliseconds.

    Raises ``QuantityError``, also for parts of a millisecond, and below 0 unless ``negative``.
    """
    number, unit = _read(_tidy(text), "s")
    ms = exact_time(str(number), unit)
    if ms < 0 and not negative:
        raise QuantityError("a time of 0 s or more", "negative-time")
    if ms.denominator != 1:
        raise QuantityError("a time in whole milliseconds", "too-fine")
    return int(ms)


def parse_range(text: str, unit: str, tolerance: float = 0.0) -> Range:
    """Read ``at least 25 cmH2O``, ``21 to 30 %``, ``30 ± 2 cmH2O`` … as a range in ``unit``.

    A bare quantity is the range of ``tolerance`` (in ``unit``) to both sides of it. Raises
    ``QuantityError``.
    """
    tidy = _tidy(text)
    try:
        return _range(tidy, unit, tolerance, text)
    except QuantityError as error:
        if error.code != "no-unit":
            raise
        raise QuantityError(error.expected, error.code, f"write '{tidy} {unit}'") from None


def _tidy(text: str) -> str:
    return " ".join(text.replace("−", "-").replace("\u00a0", " ").split())


def _range(tidy: str, unit: str, tolerance: float, text: str) -> Range:
    for side in _SIDES:
        if tidy.startswith(side + " "):
            end = _in_unit(*_read(tidy.removeprefix(side), unit), unit)
            if side in ("at least", "above"):
                return Range(low=end, low_open=side == "above", text=text)
            return Range(high=end, high_open=side == "below", text=text)
    for sign, meant in _MEANT.items():
        if tidy.lower().startswith(sign) and re.match(r"\s*[-+\d]", tidy[len(sign) :]):
            raise QuantityError(
                _a_range(unit, only=True),
                "range-form",
                f"write '{meant} {tidy[len(sign) :].strip()}'",
            )
    if "±" in tidy or "+/-" in tidy:
        return _around(tidy, unit, text)
    if re.search(r"\bto\b", tidy):
        return _between(tidy, unit, text)
    dash = re.fullmatch(rf"({_NUMBER})\s*(?:{_UNIT})?\s*[-–—]\s*(\d\S*.*)", tidy)
    if dash:
        hint = f"write '{dash[1]} to {dash[2].strip()}'"
        raise QuantityError(_a_range(unit, only=True), "range-form", hint)
    number, own = _read(tidy, unit, _a_range)
    if own == unit:
        spread = Decimal(repr(tolerance))
        return Range(float(number - spread), float(number + spread), text=text, bare=True)
    middle = _in_unit(number, own, unit)
    return Range(middle - tolerance, middle + tolerance, text=text, bare=True)


def _such_as(like: str | None) -> str:
    if like is None:
        return "a number with its unit, such as 30 cmH2O"
    if like == "wk":
        return "a gestation such as 39 wk or 39 wk 2 d"
    if kind_of_unit(like) == "a time":
        return "a time such as 20 s"
    return f"a number with its unit ({', '.join(units_like(like)[:6])})"


def _a_range(like: str | None, *, only: bool = False) -> str:
    unit = like or "cmH2O"
    if kind_of_unit(unit) == "a time":
        return "a range such as 'at least 20 s' or '20 to 40 s'"
    ways = f"a range such as 'at least 30 {unit}' or '30 to 40 {unit}'"
    return (
        ways if only else f"{ways}, or a number with its unit ({', '.join(units_like(unit)[:6])})"
    )


def _read(
    text: str, like: str | None, words: Callable[[str | None], str] = _such_as
) -> tuple[Decimal, str]:
    """Read one quantity as (number, unit); the unit goes with ``like`` if that is given."""
    text = text.strip()
    if _MANY_TIMES.fullmatch(text):
        return _sum_of_times(text, like)
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise QuantityError(words(like), *_why_no_quantity(text, like))
    unit = known_unit(match[2])
    if unit is None:
        near = nearest_unit(match[2])
        raise QuantityError(
            words(like),
            "unknown-unit",
            f"unknown unit '{match[2]}'" + (f", did you mean '{near}'?" if near else ""),
        )
    if like is not None and not same_dimension(unit, like):
        kind = kind_of_unit(unit)
        mismatch = f"{unit} is {kind}" if kind else f"{unit} does not go with {like}"
        raise QuantityError(words(like), "wrong-dimension", mismatch)
    return Decimal(match[1]), unit


def _sum_of_times(text: str, like: str | None) -> tuple[Decimal, str]:
    total = Fraction(0)
    last: Fraction | None = None
    unit = ""
    for number, name in _TIME_PART.findall(text):
        known = known_unit(name)
        if known is None or kind_of_unit(known) != "a time":
            raise QuantityError(_such_as(like), "unknown-unit", f"'{name}' is no unit of time")
        size = exact_time("1", known)
        if last is not None and size >= last:
            raise QuantityError(_such_as(like), "order-of-units", "the larger unit comes first")
        last, unit = size, known
        total += exact_time(number, known)
    if like is not None and kind_of_unit(like) != "a time":
        raise QuantityError(_such_as(like), "wrong-dimension", f"{unit} is a time")
    count = total / exact_time("1", unit)
    return Decimal(count.numerator) / Decimal(count.denominator), unit


def _why_no_quantity(text: str, like: str | None) -> tuple[str, str]:
    """Guess what went wrong in ``text``: (code, hint)."""
    if re.fullmatch(_NUMBER, text):
        return "no-unit", f"write '{text} {like}'" if like else "the unit is missing"
    if re.fullmatch(rf"[+-]?\d+,\d+\s*(?:{_UNIT})?", text):
        return "decimal-comma", f"write '{text.replace(',', '.')}', with a decimal point"
    clock = re.fullmatch(r"(\d+):(\d\d)", text)
    if clock and (like is None or kind_of_unit(like) == "a time"):
        return "clock-time", f"write '{int(clock[1]) * 60 + int(clock[2])} s'"
    weeks = re.fullmatch(r"(\d+)\s*\+\s*(\d)(?:\s*(?:/7)?)\s*(?:wk|weeks?)?", text)
    if weeks and like is not None and kind_of_unit(like) == "a time":
        return "weeks-and-days", f"write '{weeks[1]} wk {weeks[2]} d'"
    if any(text.startswith(side) for side in _SIDES) or re.search(r"\bto\b|±", text):
        return "range-for-quantity", "a range can't stand here, only one value"
    return "not-a-quantity", ""


def _in_unit(number: Decimal, unit: str, to: str) -> float:
    return convert(float(number), unit, to)


def _around(tidy: str, unit: str, text: str) -> Range:
    left, _, right = tidy.replace("+/-", "±").partition("±")
    spread, own = _read(right, unit, _a_range)
    if spread < 0:
        raise QuantityError(_a_range(unit), "negative-spread", "what follows ± is 0 or more")
    middle = _number_or_quantity(left, own, unit)
    ends = [_in_unit(end, own, unit) for end in (middle - spread, middle + spread)]
    return Range(ends[0], ends[1], text=text)


def _between(tidy: str, unit: str, text: str) -> Range:
    left, right = re.split(r"\s*\bto\b\s*", tidy, maxsplit=1)
    high, own = _read(right, unit, _a_range)
    low = _number_or_quantity(left, own, unit)
    if low > high:
        raise QuantityError(
            "a range from the lower to the higher value",
            "reversed-range",
            f"write '{high} to {low} {own}'",
        )
    return Range(_in_unit(low, own, unit), _in_unit(high, own, unit), text=text)


def _number_or_quantity(text: str, own: str, unit: str) -> Decimal:
    """Read the first number of a range, whose unit may be left to the second one (``own``)."""
    text = text.strip()
    if re.fullmatch(_NUMBER, text):
        return Decimal(text)
    number, given = _read(text, unit, _a_range)
    return number if given == own else Decimal(repr(convert(float(number), given, own)))
