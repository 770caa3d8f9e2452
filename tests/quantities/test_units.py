"""Conversions against published factors and against Pint's own table of units."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.quantities import Quantity
from simengine.quantities.units import (
    convert,
    convert_difference,
    exact_time,
    kind_of_unit,
    known_unit,
    nearest_unit,
    pint_text,
    same_dimension,
    unit_registry,
    units_like,
)

# NIST SP 811 (2008), Appendix B.8: factors to pascal, seven figures as printed (from memory; the
# factors themselves also quoted by other publications).
NIST_PASCAL = {
    "mmHg": 133.3224,
    "cmH2O": 98.0665,
    "psi": 6894.757,
    "bar": 1.0e5,
    "mbar": 100.0,
    "kPa": 1000.0,
}

# Worked from those factors by hand (computed here): 80 and 100 mmHg in three other units.
WORKED = [
    (80.0, "mmHg", "kPa", 10.666),
    (80.0, "mmHg", "cmH2O", 108.76),
    (80.0, "mmHg", "psi", 1.547),
    (100.0, "mmHg", "kPa", 13.332),
    (100.0, "mmHg", "cmH2O", 135.95),
    (100.0, "mmHg", "psi", 1.934),
]

# Our unit → the same in Pint's default registry, an outside table of units.
PINT_NAMES = {
    "s": "second", "ms": "millisecond", "min": "minute", "h": "hour", "d": "day", "wk": "week",
    "kg": "kilogram", "g": "gram", "mg": "milligram", "mcg": "microgram", "ng": "nanogram",
    "m": "meter", "cm": "centimeter", "mm": "millimeter", "Fr": "1/3 * millimeter",
    "L": "liter", "dL": "deciliter", "mL": "milliliter",
    "Pa": "pascal", "kPa": "kilopascal", "mbar": "millibar", "bar": "bar",
    "mmHg": "millimeter_Hg", "cmH2O": "centimeter_H2O", "psi": "psi",
    "mol": "mole", "mmol": "millimole", "mcmol": "micromole",
    "J": "joule", "W": "watt", "Hz": "1/second", "A": "ampere", "mA": "milliampere",
}  # fmt: skip


@pytest.fixture(scope="module")
def pint_default() -> Any:
    return pint.UnitRegistry()


@pytest.mark.parametrize(("unit", "pascal"), NIST_PASCAL.items())
def test_pressures_have_the_factors_of_nist_sp_811(unit: str, pascal: float) -> None:
    assert convert(1.0, unit, "Pa") == pytest.approx(pascal, rel=1e-12)
    assert convert(pascal, "Pa", unit) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize(("value", "unit", "to", "worked"), WORKED)
def test_suction_pressures_agree_with_worked_figures(
    value: float, unit: str, to: str, worked: float
) -> None:
    converted = convert(value, unit, to)
    assert converted == pytest.approx(worked, abs=0.5 * 10 ** -len(str(worked).split(".")[1]))


def test_every_unit_agrees_with_pints_default_registry(pint_default: Any) -> None:
    compared = 0
    for unit, one_name in PINT_NAMES.items():
        for other, other_name in PINT_NAMES.items():
            if kind_of_unit(unit) != kind_of_unit(other):
                continue
            outside = (
                pint_default.Quantity(7.3, "").to("").magnitude
                * (
                    pint_default.parse_expression(one_name)
                    / pint_default.parse_expression(other_name)
                )
                .to("")
                .magnitude
            )
            # Pint takes more figures of mmHg, cmH2O and psi than the table of NIST prints.
            assert convert(7.3, unit, other) == pytest.approx(outside, rel=1e-6)
            compared += 1
    assert compared > 100


def test_what_is_converted_as_a_fraction_agrees_with_pint_on_the_same_file() -> None:
    registry: Any = unit_registry()
    for unit in PINT_NAMES:
        for other in units_like(unit):
            by_pint = registry.convert(7.3, pint_text(unit), pint_text(other))
            assert convert(7.3, unit, other) == pytest.approx(by_pint, rel=1e-12)


def test_temperatures_agree_with_pints_default_registry(pint_default: Any) -> None:
    for value in (-40.0, 0.0, 36.5, 37.5, 98.6):
        outside = pint_default.Quantity(value, "degF").to("degC").magnitude
        assert convert(value, "°F", "°C") == pytest.approx(outside, abs=1e-9)


def test_a_difference_of_temperature_leaves_out_where_the_scale_starts() -> None:
    assert convert_difference(1.8, "°F", "°C") == pytest.approx(1.0)
    assert convert_difference(0.5, "°C", "°C") == 0.5


@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(sorted(PINT_NAMES)))
def test_converting_within_a_unit_is_the_identity(value: float, unit: str) -> None:
    assert convert(value, unit, unit) == value
    assert Quantity(value, unit).to(unit) == Quantity(value, unit)


@given(st.decimals(min_value=0, max_value=10_000, places=3))
def test_times_and_masses_are_converted_without_a_rounding_of_their_own(number: Any) -> None:
    assert exact_time(str(number), "s") == Fraction(str(number)) * 1000
    assert convert(float(number), "kg", "g") == float(Fraction(repr(float(number))) * 1000)


@pytest.mark.parametrize(
    ("one", "other"),
    [("mcg/kg", "%"), ("%", "mcg/kg"), ("cmH2O", "kg"), ("/min", "L/min"), ("s", "/s")],
)
def test_units_of_different_things_do_not_go_together(one: str, other: str) -> None:
    assert not same_dimension(one, other)
    with pytest.raises(ValueError, match="can't be told in"):
        convert(1.0, one, other)


@pytest.mark.parametrize(
    ("one", "other", "factor"),
    [
        ("mL/kg", "L/kg", 0.001),
        ("mg/mL", "mcg/mL", 1000.0),
        ("L/min", "mL/s", 1000 / 60),
        ("/min", "Hz", 1 / 60),
        ("mcg/kg", "mg/kg", 0.001),
        ("mcg/kg/min", "mcg/kg/h", 60.0),
    ],
)
def test_compound_units_are_converted(one: str, other: str, factor: float) -> None:
    assert convert(3.0, one, other) == pytest.approx(3.0 * factor)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("ml", "mL"),
        ("l/min", "L/min"),
        ("µg/kg", "mcg/kg"),
        ("weeks", "wk"),
        ("cmH₂O", "cmH2O"),
        ("degC", "°C"),
        ("L / min", "L/min"),
        ("/ min", "/min"),
        ("%", "%"),
    ],
)
def test_other_spellings_of_a_unit_are_taken(text: str, unit: str) -> None:
    assert known_unit(text) == unit


@pytest.mark.parametrize("text", ["", "/", "cmh2o", "lpm", "30", "kg//", "min /", "cm H2O"])
def test_what_is_no_unit_is_not_taken(text: str) -> None:
    assert known_unit(text) is None


def test_the_nearest_unit_does_not_mind_capitals() -> None:
    assert nearest_unit("cmh2o") == "cmH2O"
    assert nearest_unit("ML/KG") == "mL/kg"
    assert nearest_unit("/mn") == "/min"
    assert nearest_unit("furlongs") is None


def test_a_message_offers_units_of_the_same_kind() -> None:
    assert units_like("mmHg")[:3] == ("mmHg", "cmH2O", "kPa")
    assert units_like("/min")[0] == "/min"
    assert all(same_dimension(unit, "mcg/kg") for unit in units_like("mcg/kg"))


def test_every_unit_can_be_read_by_pint() -> None:
    for unit in (*PINT_NAMES, "%", "°C", "°F", "IU", "lx", "kelvin", "mcg/kg/min", "/min"):
        assert known_unit(unit) == unit
        assert convert(300.0, unit, units_like(unit)[-1]) > 0
        assert pint_text(unit)


def test_reading_files_in_their_own_units_does_not_load_pint() -> None:
    script = (
        "import sys; from simengine.quantities import parse_duration, parse_in, parse_range\n"
        "parse_duration('1 min 30 s'); parse_in('3.4 kg', 'g'); parse_in('39 wk 2 d', 'd')\n"
        "parse_range('at least 25 cmH2O', 'cmH2O'); parse_range('4 kPa', 'cmH2O')\n"
        "sys.exit('pint' in sys.modules or 'numpy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
