"""Days are read as they were meant, and months are counted as a calendar does."""

from __future__ import annotations

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from simengine.people.days import DayError, Order, add_months, order_told_by, read_day

# Worked by hand on a calendar; 2028 is a leap year.
MONTHS = [
    (date(2026, 1, 31), 1, date(2026, 2, 28)),
    (date(2028, 1, 31), 1, date(2028, 2, 29)),
    (date(2026, 3, 31), 1, date(2026, 4, 30)),
    (date(2026, 2, 28), 1, date(2026, 3, 28)),
    (date(2025, 8, 31), 6, date(2026, 2, 28)),
    (date(2028, 2, 29), 12, date(2029, 2, 28)),
    (date(2025, 12, 15), 1, date(2026, 1, 15)),
    (date(2026, 3, 1), 0, date(2026, 3, 1)),
]


@pytest.mark.parametrize(("day", "months", "after"), MONTHS)
def test_months_are_counted_as_on_a_calendar(day: date, months: int, after: date) -> None:
    assert add_months(day, months) == after


@given(st.dates(date(1950, 1, 1), date(2150, 1, 1)), st.integers(0, 240))
def test_months_are_those_of_another_calendar(day: date, months: int) -> None:
    # python-dateutil's relativedelta, a reference library
    assert add_months(day, months) == day + relativedelta(months=months)


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("2026-03-01", None),  # ISO 8601
        ("2026/3/1", None),
        ("2026-03-01 00:00:00", None),
        ("01.03.2026", None),
        ("1.3.2026", "month-first"),  # with dots the day always comes first
        (" 01/03/2026 ", "day-first"),
        ("03/01/2026", "month-first"),
        ("01-03-2026", "day-first"),
    ],
)
def test_a_day_is_read_however_a_spreadsheet_writes_it(text: str, order: Order | None) -> None:
    assert read_day(text, order) == date(2026, 3, 1)


def test_a_day_that_reads_the_same_both_ways_needs_no_order() -> None:
    assert read_day("05/05/2026") == date(2026, 5, 5)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("01/03/2026", "say --dates day-first or --dates month-first"),
        ("1.3.26", "four digits"),
        ("46082", "day number"),
        ("soon", ""),
        ("", ""),
    ],
)
def test_what_is_no_clear_day_is_refused_with_a_hint(text: str, told: str) -> None:
    with pytest.raises(DayError) as error:
        read_day(text)
    assert told in error.value.hint


@pytest.mark.parametrize("text", ["31.02.2026", "2026-13-01", "0026-01-01"])
def test_a_day_that_no_calendar_has_is_refused(text: str) -> None:
    with pytest.raises(DayError):
        read_day(text, "day-first")


def test_a_file_tells_its_order_by_a_day_above_12() -> None:
    assert order_told_by(["01/03/2026", "13/03/2026"]) == "day-first"
    assert order_told_by(["01/03/2026", "03/13/2026"]) == "month-first"
    assert order_told_by(["01/03/2026", "2026-03-13"]) is None
    with pytest.raises(DayError) as error:
        order_told_by(["13/03/2026", "03/13/2026"])
    assert "'13/03/2026' has the day first" in error.value.hint
