"""How a value is told to people, wherever it is told: quantities, times, shares, counts, lists.

Rules of this file:

- A value reads the same on paper, on a page and at a terminal, so nothing else formats one.
- Every number has its unit. A minus is the printed sign, and nought has none.
- An instant is m:ss on a clock, the seconds that have been completed; a span of time is in words.
- Months have English names whatever the machine's language.
- The console's pages write clocks in the browser (``times.js``); a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from math import floor, inf, log10

from simengine.quantities.ranges import Range

NONE = "–"
"""What stands where there is no value."""

_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)
_DAYS_A_WEEK = 7


def figure(value: float, decimals: int, *, sign: bool = False) -> str:
    """Tell a bare number for a scale without a unit: ``0.42``, ``−1.0``; ``sign``: ``+0.42``."""
    text = f"{value:{'+' if sign else ''}.{decimals}f}"
    if text.startswith("-"):
        return "−" + text[1:] if text.strip("-0.") else text[1:]
    return text


def format_quantity(value: float, unit: str, decimals: int | None = None) -> str:
    """Tell a quantity: ``30 cmH2O``, ``0.35 mL``, ``70 /min``.

    Without ``decimals``: four figures, whole numbers in full, no noughts at the end.
    """
    if decimals is None:
        size = floor(log10(abs(value))) if value else 0
        text = figure(value, max(0, 3 - size))
        if "." in text:
            text = text.rstrip("0").rstrip(".")
    else:
        text = figure(value, decimals)
    return f"{text} {unit}".rstrip()


def value_words(value: float | str, unit: str | None, decimals: int | None = None) -> str:
    """Tell a setting or an observation: a number with its unit, or its word."""
    return value if isinstance(value, str) else format_quantity(value, unit or "", decimals)


def format_range(wanted: Range, unit: str) -> str:
    """Tell a range in ``unit``: ``at least 25 cmH2O``, ``21 to 30 %``."""
    low, high = wanted.low, wanted.high
    if low == -inf and high == inf:
        return "any value"
    if high == inf:
        return f"{'above' if wanted.low_open else 'at least'} {format_quantity(low, unit)}"
    if low == -inf:
        return f"{'below' if wanted.high_open else 'at most'} {format_quantity(high, unit)}"
    if low == high:
        return format_quantity(low, unit)
    return f"{format_quantity(low, '')} to {format_quantity(high, unit)}"


def clock(ms: int, digits: int = 0) -> str:
    """Tell an instant in ms on a clock: ``1:18``, ``−0:20``; ``digits`` after the point, cut off.

    Before the clock's nought it has a minus sign, unless it reads as nought.
    """
    minutes, rest = divmod(abs(ms), 60_000)
    seconds, left = divmod(rest, 1000)
    text = f"{minutes}:{seconds:02d}" + (f".{left:03d}"[: digits + 1] if digits else "")
    return f"−{text}" if ms < 0 and text.strip("0:.") else text


def instant(ms: int, event: str, *, unlike: int | None = None) -> str:
    """Tell an instant in ms of a clock in a sentence: ``1:18``, ``0:20 before birth``.

    ``event`` is what starts the clock. ``unlike``: another instant that it must not read like;
    tenths (or ms) are told where it would.
    """
    digits = 0
    if unlike is not None and unlike != ms and abs(unlike - ms) < 1000:
        while digits < 3 and clock(abs(ms), digits) == clock(abs(unlike), digits):
            digits += 1
    text = clock(abs(ms), digits)
    return f"{text} before {event or 'the start'}" if ms < 0 else text


def format_duration(ms: float) -> str:
    """Tell a span of time: ``20 s``, ``90 s``, ``1 min 44 s``, ``10 min``."""
    sign = "−" if ms < 0 else ""
    seconds = Decimal(repr(abs(ms))) / 1000
    if seconds <= 90 or seconds % 1:
        return f"{sign}{format_quantity(float(seconds), 's')}"
    minutes, rest = divmod(int(seconds), 60)
    return f"{sign}{minutes} min" + (f" {rest} s" if rest else "")


def percent(share: float | None, decimals: int = 0, *, none: str = NONE) -> str:
    """Tell a share of 1 as a percentage: ``71 %``; ``none`` where there is none."""
    return none if share is None else f"{figure(100 * share, decimals)} %"


def percents_apart(one: float, other: float) -> tuple[str, str]:
    """Tell two shares of 1 beside each other, with a decimal where they would read alike."""
    decimals = int(percent(one) == percent(other) and one != other)
    return percent(one, decimals), percent(other, decimals)


def percent_span(low: float, high: float) -> str:
    """Tell two shares of 1 as the ends of an interval: ``66 to 76 %``."""
    return f"{figure(100 * low, 0)} to {percent(high)}"


def day(one: date) -> str:
    """Tell a day: ``30 June 2026``."""
    return f"{one.day} {_MONTHS[one.month - 1]} {one.year}"


def short_day(one: date) -> str:
    """Tell a day where there is little room: ``30 Jun 2026``."""
    return f"{one.day} {_MONTHS[one.month - 1][:3]} {one.year}"


def minute(moment: datetime) -> str:
    """Tell a moment as the clocks on the wall here have it: ``30 June 2026, 16:05``."""
    moment = moment.astimezone()
    return f"{day(moment)}, {moment:%H:%M}"


def gestation(days: float) -> str:
    """Tell how long a baby was carried: ``39 weeks``, ``30 weeks 4 days``."""
    weeks, rest = divmod(round(days), _DAYS_A_WEEK)
    return count(weeks, "week") + (f" {count(rest, 'day')}" if rest else "")


def weight(grams: float) -> str:
    """Tell a baby's weight: ``3.4 kg``."""
    return format_quantity(grams / 1000, "kg")


def count(number: int, one: str, many: str | None = None) -> str:
    """Tell how many there are: ``1 step``, ``3 steps``, ``2 people``."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def times(number: int) -> str:
    """Tell how often: ``once``, ``twice``, ``3 times``."""
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def listed(parts: Sequence[str], last: str = "and") -> str:
    """Join words into a list in a sentence: ``a, b and c``."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {last} {parts[-1]}"


def in_a_sentence(label: str) -> str:
    """Return a label as it stands within a sentence: a capital that only opens it goes.

    One that names a thing stays: ``ECG``, ``T-piece``.
    """
    first = label.partition(" ")[0]
    lower = (first[1:].islower() and first[1] != "-") or len(first) == 1
    return label[:1].lower() + label[1:] if lower else label


def capitalised(words: str) -> str:
    """Return words as they open a sentence."""
    return words[:1].upper() + words[1:]
