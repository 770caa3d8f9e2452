"""Bedside sums: with units, without running Python, halves up as in printed tables."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.quantities import Quantity
from simengine.scenario.equations import FormulaError, evaluate, names_in
from simengine.scenario.vocabulary import Equation


def equation(formula: str, unit: str, inputs: dict[str, str], **more: object) -> Equation:
    constants = more.get("constants", {})
    assert isinstance(constants, dict)
    round_to = more.get("round_to")
    assert round_to is None or isinstance(round_to, float)
    return Equation(
        name="sum",
        label="A sum",
        formula=formula,
        unit=unit,
        inputs=inputs,
        constants=constants,
        source="a test",
        round_to=round_to,
        plain=bool(more.get("plain")),
    )


VOLUME = equation(
    "weight * dose / strength",
    "mL",
    {"weight": "kg", "dose": "mcg/kg", "strength": "mg/mL"},
    round_to=0.01,
)

# Starship (New Zealand) 2007: mL of adrenaline 0.1 mg/mL at 0.1 and 0.3 mL/kg, by weight in g.
STARSHIP = [
    (500, 0.05, 0.15),
    (750, 0.08, 0.23),
    (1000, 0.10, 0.30),
    (1250, 0.13, 0.38),
    (1500, 0.15, 0.45),
    (2500, 0.25, 0.75),
    (3500, 0.35, 1.05),
    (5000, 0.50, 1.50),
]


@pytest.mark.parametrize(("grams", "low", "high"), STARSHIP)
def test_volumes_are_those_of_the_printed_table(grams: int, low: float, high: float) -> None:
    for dose, printed in ((10.0, low), (30.0, high)):
        volume = evaluate(
            VOLUME,
            {
                "weight": Quantity(grams, "g"),
                "dose": Quantity(dose, "mcg/kg"),
                "strength": Quantity(0.1, "mg/mL"),
            },
        )
        assert volume == Quantity(printed, "mL")


@given(st.integers(min_value=300, max_value=6000))
def test_halves_go_up_whatever_the_weight(grams: int) -> None:
    volume = evaluate(
        VOLUME,
        {
            "weight": Quantity(grams / 1000, "kg"),
            "dose": Quantity(10.0, "mcg/kg"),
            "strength": Quantity(0.1, "mg/mL"),
        },
    )
    # By hand in decimal: grams x 0.1 mL/kg, to two places, halves up.
    exact = Decimal(grams) / 10_000
    assert volume.value == float(exact.quantize(Decimal("0.01"), ROUND_HALF_UP))


def test_a_plain_equation_takes_bare_numbers_in_the_units_stated() -> None:
    # Kempley: 1.822 ln(kg) + 6.632 cm; 1 kg 6.63, 3 kg 8.63 (computed here).
    depth = equation(
        "1.822 * ln(weight) + 6.632", "cm", {"weight": "kg"}, plain=True, round_to=0.01
    )
    assert evaluate(depth, {"weight": Quantity(1000.0, "g")}) == Quantity(6.63, "cm")
    assert evaluate(depth, {"weight": Quantity(3.0, "kg")}) == Quantity(8.63, "cm")


def test_constants_and_shares_have_units() -> None:
    # 10 L/min of air and 6 L/min of oxygen: (0.21 x 10 + 6) / 16 = 0.50625.
    mix = equation(
        "(in_air * air + oxygen) / (air + oxygen)",
        "%",
        {"air": "L/min", "oxygen": "L/min"},
        constants={"in_air": "21 %"},
    )
    mixed = evaluate(mix, {"air": Quantity(10.0, "L/min"), "oxygen": Quantity(6000.0, "mL/min")})
    assert mixed.value == pytest.approx(50.625)


@pytest.mark.parametrize(
    "formula",
    [
        "open('x')",
        "weight.__class__",
        "__import__('os')",
        "(lambda: 1)()",
        "[1, 2]",
        "weight if dose else 1",
        "weight @ dose",
        "weight // dose",
        "'text'",
        "True",
        "ln(weight, dose)",
        "min(weight)",
        "max(*weight)",
        "weight := 1",
        "1 +",
        "",
        "(" * 400 + ")" * 400,
        "1" * 501,
    ],
)
def test_only_arithmetic_is_taken(formula: str) -> None:
    with pytest.raises(FormulaError):
        names_in(formula)


def test_names_are_those_that_the_formula_uses() -> None:
    assert names_in("min(a, 2 * b) + ln(c) ** 2 - -d") == {"a", "b", "c", "d"}


@pytest.mark.parametrize(
    ("formula", "unit"),
    [
        ("weight + dose", "kg"),
        ("weight / (weight - weight)", "%"),
        ("weight", "mL"),
        ("weight ** weight", "kg"),
        ("2 ** 99", "%"),
        ("ln(weight - weight)", "%"),
    ],
)
def test_a_sum_without_a_value_is_told_in_words(formula: str, unit: str) -> None:
    sums = equation(formula, unit, {"weight": "kg", "dose": "L/min"})
    inputs = {"weight": Quantity(3.0, "kg"), "dose": Quantity(1.0, "L/min")}
    with pytest.raises(FormulaError, match="expected"):
        evaluate(sums, inputs)


def test_an_input_that_is_missing_or_of_another_kind_is_told_in_words() -> None:
    sums = equation("weight", "kg", {"weight": "kg"})
    with pytest.raises(FormulaError, match="a value for 'weight' in kg, found none"):
        evaluate(sums, {})
    with pytest.raises(FormulaError, match="'weight' in kg, found 3 mL"):
        evaluate(sums, {"weight": Quantity(3.0, "mL")})
