"""How values are told. Forms of numbers: SI Brochure, 9th edition (2019), 5.4.3 and 5.4.7 (a space
before the unit and the per cent sign). The rest is this project's own choice, and says so nowhere
else."""

from datetime import UTC, date, datetime

import pytest

from simengine.quantities.formatting import (
    clock,
    count,
    day,
    figure,
    format_duration,
    gestation,
    instant,
    listed,
    minute,
    percent,
    percent_span,
    percents_apart,
    short_day,
    times,
    value_words,
    weight,
)


@pytest.mark.parametrize(
    ("ms", "digits", "told"),
    [
        (0, 0, "0:00"),
        (999, 0, "0:00"),
        (78_000, 0, "1:18"),
        (725_999, 0, "12:05"),
        (-20_000, 0, "−0:20"),
        (-400, 0, "0:00"),
        (-400, 1, "−0:00.4"),
        (61_250, 1, "1:01.2"),
        (61_250, 3, "1:01.250"),
    ],
)
def test_a_clock_shows_the_seconds_that_have_been_completed(
    ms: int, digits: int, told: str
) -> None:
    assert clock(ms, digits) == told


@pytest.mark.parametrize(
    ("share", "decimals", "told"),
    [(0.714, 0, "71 %"), (0.714, 1, "71.4 %"), (1.0, 0, "100 %"), (-0.05, 0, "−5 %"),
     (-0.001, 0, "0 %"), (None, 0, "–")],
)  # fmt: skip
def test_a_share_is_told_as_a_percentage(share: float | None, decimals: int, told: str) -> None:
    assert percent(share, decimals) == told


def test_an_interval_names_its_unit_once() -> None:
    assert percent_span(0.58, 0.71) == "58 to 71 %"
    assert percents_apart(0.546, 0.55) == ("54.6 %", "55.0 %")
    assert percents_apart(0.5, 0.55) == ("50 %", "55 %")
    assert percents_apart(0.55, 0.55) == ("55 %", "55 %")


def test_an_instant_in_a_sentence() -> None:
    assert [instant(ms, "birth") for ms in (78_000, -20_000)] == ["1:18", "0:20 before birth"]
    assert instant(-20_000, "") == "0:20 before the start"
    assert instant(60_400, "birth", unlike=60_000) == "1:00.4"
    assert instant(60_400, "birth", unlike=59_000) == "1:00"


def test_a_share_that_is_not_there_is_told_in_the_callers_words() -> None:
    assert percent(None, none="no total") == "no total"


@pytest.mark.parametrize(
    ("value", "decimals", "sign", "told"),
    [(0.425, 2, False, "0.42"), (-1, 1, False, "−1.0"), (3.94, 1, True, "+3.9"),
     (-0.01, 1, False, "0.0")],
)  # fmt: skip
def test_a_bare_figure_has_a_printed_minus(
    value: float, decimals: int, sign: bool, told: str
) -> None:
    assert figure(value, decimals, sign=sign) == told


def test_days_and_moments_are_told_in_english() -> None:
    assert day(date(2026, 6, 30)) == "30 June 2026"
    assert short_day(date(2026, 6, 30)) == "30 Jun 2026"
    here = datetime(2026, 6, 3, 14, 5).astimezone()
    assert minute(here.astimezone(UTC)) == "3 June 2026, 14:05"


@pytest.mark.parametrize(
    ("days", "told"), [(273, "39 weeks"), (214, "30 weeks 4 days"), (183, "26 weeks 1 day")]
)
def test_a_gestation_is_told_in_weeks_and_days(days: float, told: str) -> None:
    assert gestation(days) == told


def test_a_weight_is_told_in_kilograms() -> None:
    assert weight(3400) == "3.4 kg"


def test_numbers_of_things_have_their_plural() -> None:
    assert [count(1, "step"), count(0, "step"), count(2, "person", "people")] == [
        "1 step", "0 steps", "2 people",
    ]  # fmt: skip
    assert [times(number) for number in (1, 2, 3)] == ["once", "twice", "3 times"]


def test_lists_are_joined_as_in_a_sentence() -> None:
    assert [listed(parts) for parts in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == [
        "", "a", "a and b", "a, b and c",
    ]  # fmt: skip
    assert listed(["a", "b", "c"], "or") == "a, b or c"


def test_a_value_is_a_number_with_its_unit_or_a_word() -> None:
    assert [value_words(2.0, "mmol/L", 1), value_words("rising", None)] == ["2.0 mmol/L", "rising"]


def test_a_span_of_time_is_in_seconds_up_to_two_minutes() -> None:
    assert [format_duration(ms) for ms in (90_000, 150_000, 600_000)] == [
        "90 s", "2 min 30 s", "10 min",
    ]  # fmt: skip
