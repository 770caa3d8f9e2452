"""Quantities, durations and ranges as an educator writes them."""

from __future__ import annotations

from contextlib import suppress
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.quantities import (
    Quantity,
    QuantityError,
    Range,
    format_duration,
    format_quantity,
    format_range,
    parse_difference,
    parse_duration,
    parse_in,
    parse_quantity,
    parse_range,
)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("30 cmH2O", 30.0, "cmH2O"),
        ("8 L/min", 8.0, "L/min"),
        ("30 %", 30.0, "%"),
        ("30%", 30.0, "%"),
        ("60 s", 60.0, "s"),
        ("39 wk", 39.0, "wk"),
        ("39 wk 2 d", 275.0, "d"),
        ("3.4 kg", 3.4, "kg"),
        ("10 mL/kg", 10.0, "mL/kg"),
        ("70 /min", 70.0, "/min"),
        ("20 mcg/kg", 20.0, "mcg/kg"),
        ("36.5 °C", 36.5, "°C"),
        ("-5 s", -5.0, "s"),
        ("−5 s", -5.0, "s"),
        ("  8   L / min ", 8.0, "L/min"),
    ],
)
def test_a_quantity_is_a_number_and_its_unit(text: str, value: float, unit: str) -> None:
    assert parse_quantity(text) == Quantity(value, unit)


@pytest.mark.parametrize(
    ("text", "ms"),
    [
        ("20 s", 20_000),
        ("2 min", 120_000),
        ("1 min 30 s", 90_000),
        ("1 h 2 min 3 s", 3_723_000),
        ("0.1 s", 100),
        ("0.3 s", 300),
        ("4.4 s", 4_400),
        ("1.005 s", 1_005),
        ("250 ms", 250),
        ("0 s", 0),
    ],
)
def test_a_duration_is_whole_milliseconds(text: str, ms: int) -> None:
    assert parse_duration(text) == ms


def test_a_time_may_be_before_an_instant_only_where_that_is_asked() -> None:
    assert parse_duration("-30 s", negative=True) == -30_000
    with pytest.raises(QuantityError, match="0 s or more"):
        parse_duration("-30 s")


@given(st.integers(min_value=0, max_value=10**9))
def test_every_whole_millisecond_survives_being_written_in_seconds(ms: int) -> None:
    assert parse_duration(f"{ms // 1000}.{ms % 1000:03d} s") == ms


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("at least 25 cmH2O", Range(low=25.0)),
        ("at most 100 cmH2O", Range(high=100.0)),
        ("above 60 cmH2O", Range(low=60.0, low_open=True)),
        ("below 100 cmH2O", Range(high=100.0, high_open=True)),
        ("21 to 30 cmH2O", Range(21.0, 30.0)),
        ("21 cmH2O to 30 cmH2O", Range(21.0, 30.0)),
        ("-3 to -1 cmH2O", Range(-3.0, -1.0)),
        ("30 ± 2 cmH2O", Range(28.0, 32.0)),
        ("30 +/- 2 cmH2O", Range(28.0, 32.0)),
        ("30 cmH2O ± 2 cmH2O", Range(28.0, 32.0)),
        ("30 cmH2O", Range(25.0, 35.0)),
    ],
)
def test_a_range_is_read_in_each_of_its_forms(text: str, wanted: Range) -> None:
    assert parse_range(text, "cmH2O", tolerance=5.0) == wanted


def test_ends_are_worked_out_in_decimal_as_written() -> None:
    assert parse_range("0.3 ± 0.1 mL", "mL") == Range(0.2, 0.4)
    assert parse_range("0.7 mL", "mL", tolerance=0.1) == Range(0.6, 0.8)


def test_a_range_in_another_unit_is_converted_at_its_ends() -> None:
    pressure = parse_range("4 ± 1 kPa", "cmH2O")
    # NIST SP 811: 1 cmH2O = 98.0665 Pa.
    assert pressure.low == pytest.approx(3000 / 98.0665)
    assert pressure.high == pytest.approx(5000 / 98.0665)


def test_a_spread_of_temperature_is_a_difference() -> None:
    temperature = parse_range("98.6 ± 1.8 °F", "°C")
    assert [temperature.low, temperature.high] == pytest.approx([36.0, 38.0])
    assert parse_difference("1.8 °F", "°C") == pytest.approx(1.0)


def test_the_words_of_a_range_are_kept_and_take_no_part_in_comparing() -> None:
    assert parse_range("at least 25 cmH2O", "cmH2O").text == "at least 25 cmH2O"
    assert parse_range("30 ± 2 cmH2O", "cmH2O") == parse_range("28 to 32 cmH2O", "cmH2O")


@pytest.mark.parametrize(
    ("text", "like", "code", "hint"),
    [
        ("30", "cmH2O", "no-unit", "write '30 cmH2O'"),
        ("2,5 kg", "kg", "decimal-comma", "write '2.5 kg', with a decimal point"),
        ("1:30", "s", "clock-time", "write '90 s'"),
        ("39+2", "wk", "weeks-and-days", "write '39 wk 2 d'"),
        ("39+2 wk", "wk", "weeks-and-days", "write '39 wk 2 d'"),
        ("30 cmh2o", "cmH2O", "unknown-unit", "unknown unit 'cmh2o', did you mean 'cmH2O'?"),
        ("30 kg", "cmH2O", "wrong-dimension", "kg is a mass"),
        ("20 mcg/kg", "%", "wrong-dimension", "mcg/kg does not go with %"),
        ("at least 30 s", "s", "range-for-quantity", "a range can't stand here, only one value"),
        ("fast", "s", "not-a-quantity", ""),
        ("", "s", "not-a-quantity", ""),
        ("30 s 1 min", "s", "order-of-units", "the larger unit comes first"),
        ("1e3 s", "s", "not-a-quantity", ""),
    ],
)
def test_a_wrong_quantity_says_what_is_wrong(text: str, like: str, code: str, hint: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_in(text, like)
    assert (caught.value.code, caught.value.hint) == (code, hint)


@pytest.mark.parametrize(
    ("text", "code", "hint"),
    [
        ("30 to 21 %", "reversed-range", "write '21 to 30 %'"),
        (">= 25 %", "range-form", "write 'at least 25 %'"),
        ("≤25 %", "range-form", "write 'at most 25 %'"),
        ("less than 25 %", "range-form", "write 'below 25 %'"),
        ("21-30 %", "range-form", "write '21 to 30 %'"),
        ("21–30 %", "range-form", "write '21 to 30 %'"),
        ("30 ± -2 %", "negative-spread", "what follows ± is 0 or more"),
        ("at least 25", "no-unit", "write 'at least 25 %'"),
        ("21 to 30", "no-unit", "write '21 to 30 %'"),
        ("about 30 %", "not-a-quantity", ""),
    ],
)
def test_a_wrong_range_says_what_is_wrong(text: str, code: str, hint: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_range(text, "%")
    assert (caught.value.code, caught.value.hint) == (code, hint)


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    for read in (
        lambda: parse_quantity(text),
        lambda: parse_duration(text),
        lambda: parse_range(text, "cmH2O"),
    ):
        with suppress(QuantityError):
            read()


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (30.0, "cmH2O", "30 cmH2O"),
        (21.0, "%", "21 %"),
        (0.35, "mL", "0.35 mL"),
        (3.4, "kg", "3.4 kg"),
        (70.0, "/min", "70 /min"),
        (40.78864852, "cmH2O", "40.79 cmH2O"),
        (1360.0, "L", "1360 L"),
        (12345.0, "L", "12345 L"),
        (100.0, "mmHg", "100 mmHg"),
        (0.0, "L/min", "0 L/min"),
        (-5.0, "cmH2O", "−5 cmH2O"),
        (-0.0, "s", "0 s"),
        (0.00012, "mL", "0.00012 mL"),
        (29.999999999, "%", "30 %"),
    ],
)
def test_a_quantity_is_told_as_people_write_it(value: float, unit: str, said: str) -> None:
    assert format_quantity(value, unit) == said


def test_decimals_are_kept_where_they_are_asked_for() -> None:
    assert format_quantity(36.0, "°C", 1) == "36.0 °C"
    assert format_quantity(-0.04, "°C", 1) == "0.0 °C"


@pytest.mark.parametrize(
    ("ms", "said"),
    [
        (20_000, "20 s"),
        (4_400, "4.4 s"),
        (90_000, "90 s"),
        (104_000, "1 min 44 s"),
        (120_000, "2 min"),
        (150_000, "2 min 30 s"),
        (600_000, "10 min"),
        (-30_000, "−30 s"),
        (0, "0 s"),
    ],
)
def test_a_duration_is_told_as_people_say_it(ms: int, said: str) -> None:
    assert format_duration(ms) == said


@pytest.mark.parametrize(
    "text",
    ["at least 25 cmH2O", "at most 40 cmH2O", "above 5 cmH2O", "below 7.5 cmH2O", "21 to 30 cmH2O"],
)
def test_a_range_is_told_as_it_was_written(text: str) -> None:
    assert format_range(parse_range(text, "cmH2O"), "cmH2O") == text


def test_a_range_of_one_value_is_told_as_the_value() -> None:
    assert format_range(parse_range("30 cmH2O", "cmH2O"), "cmH2O") == "30 cmH2O"
    assert format_range(Range(-inf, inf), "cmH2O") == "any value"
