"""Calendar days: reading them from a table, and counting in months.

Rules of this file:

- A day is read as ``2026-03-01``, or as a spreadsheet program writes it: ``01.03.2026`` (always
  day first), ``01/03/2026`` or ``01-03-2026``. Whether slashes and dashes mean day or month first
  is never guessed for one cell: the file tells it where some day is above 12, else the user does.
- ``n`` months after a day is the same day of the month, or that month's last day where it has none:
  31 January and one month is 28 or 29 February.
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterable
from datetime import date
from typing import Literal

Order = Literal["day-first", "month-first"]

ORDERS: tuple[Order, ...] = ("day-first", "month-first")
FORMS = "a day such as 2026-03-01 or 01.03.2026"

_ISO = re.compile(r"(\d{4})[-/](\d{1,2})[-/](\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?)?")
_DOTS = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})(?: 00:00(?::00)?)?")
_SLASHES = re.compile(r"(\d{1,2})([/-])(\d{1,2})\2(\d{4})(?: 0?0:00(?::00)?)?")
_SHORT_YEAR = re.compile(r"\d{1,2}[./-]\d{1,2}[./-]\d{2}")
_SERIAL = re.compile(r"[2-6]\d{4}")
_FIRST, _LAST = 1900, 2199


class DayError(ValueError):
    """A text that is no day. ``expected`` and ``hint`` are for the complaint about it."""

    def __init__(self, expected: str = FORMS, hint: str = "") -> None:
        self.expected = expected
        self.hint = hint
        super().__init__(expected)


def add_months(day: date, months: int) -> date:
    """Return the day ``months`` calendar months after ``day``."""
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def order_told_by(texts: Iterable[str]) -> Order | None:
    """Return what the days with slashes or dashes in a file tell of their order, ``None`` if
    nothing. Raises ``DayError`` where they contradict one another.
    """
    seen: dict[Order, str] = {}
    for text in texts:
        if match := _SLASHES.fullmatch(text.strip()):
            first, second = int(match[1]), int(match[3])
            if first > 12:
                seen.setdefault("day-first", text)
            if second > 12:
                seen.setdefault("month-first", text)
    if len(seen) > 1:
        raise DayError(
            "days in one order throughout the file",
            f"'{seen['day-first']}' has the day first, '{seen['month-first']}' the month",
        )
    return next(iter(seen), None)


def read_day(text: str, order: Order | None = None) -> date:
    """Return the day that a cell tells; ``order`` is that of days with slashes or dashes.

    Raises ``DayError``.
    """
    text = text.strip()
    if match := _ISO.fullmatch(text):
        return _day(match[1], match[2], match[3])
    if match := _DOTS.fullmatch(text):
        return _day(match[3], match[2], match[1])
    if match := _SLASHES.fullmatch(text):
        first, second, year = match[1], match[3], match[4]
        if order is None and first != second:
            raise DayError(
                f"{FORMS}: whether day or month comes first can't be told",
                "say --dates day-first or --dates month-first",
            )
        return _day(year, first, second) if order == "month-first" else _day(year, second, first)
    if _SHORT_YEAR.fullmatch(text):
        raise DayError(hint="write the year with four digits")
    if _SERIAL.fullmatch(text):
        raise DayError(hint="a spreadsheet's day number; give the column the format of a date")
    raise DayError


def _day(year: str, month: str, day: str) -> date:
    if not _FIRST <= int(year) <= _LAST:
        raise DayError(f"a year from {_FIRST} to {_LAST}")
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        raise DayError(f"{FORMS}: the calendar has no such day") from None
