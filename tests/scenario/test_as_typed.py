"""Gestation and weight as people type them, and what is asked about them."""

from __future__ import annotations

import pytest

from simengine.quantities import QuantityError
from simengine.scenario.as_typed import questions, typed_gestation, typed_weight
from simengine.scenario.model import Infant
from tests.shipped import SCENARIOS, scenario, vocabulary


@pytest.mark.parametrize(
    ("text", "weeks", "days"),
    [
        *(("39", 39, 0), ("39w", 39, 0), ("39 wk", 39, 0), ("39 weeks", 39, 0), ("39+3", 39, 3)),
        *(("39 + 3", 39, 3), ("39+3/7", 39, 3), ("39w+3", 39, 3), ("39 wk 3 d", 39, 3)),
        *((" 25+0 ", 25, 0), ("273 d", 39, 0)),
    ],
)
def test_weeks_are_taken_as_they_are_said(text: str, weeks: int, days: int) -> None:
    assert typed_gestation(text) == 7 * weeks + days


@pytest.mark.parametrize(
    ("text", "grams"),
    [("3400", 3400), ("3.4", 3400), ("3,4", 3400), ("3.4 kg", 3400), ("750", 750), ("750 g", 750)],
)
def test_a_weight_without_a_unit_is_in_grams_or_plainly_in_kilograms(
    text: str, grams: float
) -> None:
    assert typed_weight(text) == pytest.approx(grams)


@pytest.mark.parametrize("text", ["", "soon", "39+9", "-39", "39 kg"])
def test_what_is_no_gestation_is_an_error_in_words(text: str) -> None:
    with pytest.raises(QuantityError, match="39 wk"):
        typed_gestation(text)


@pytest.mark.parametrize("text", ["", "heavy", "-3400", "39 wk"])
def test_what_is_no_weight_is_an_error_in_words(text: str) -> None:
    with pytest.raises(QuantityError):
        typed_weight(text)


def test_300_kg_and_60_weeks_are_asked_about() -> None:
    assert questions(Infant(39 * 7, typed_weight("300 kg")), vocabulary()) == (
        "A weight of 300 kg? It is usually 0.3 to 6.5 kg.",
    )
    assert questions(Infant(60 * 7, 3400), vocabulary()) == (
        "A gestation of 60 weeks? It is usually 22 to 44 wk.",
    )


@pytest.mark.parametrize("name", SCENARIOS)
def test_no_shipped_baby_is_asked_about(name: str) -> None:
    assert questions(scenario(name).infant, vocabulary()) == ()
