"""What is offered for one touch, and what is questioned, for this baby under this protocol."""

from __future__ import annotations

import pytest

from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from simengine.scenario.model import Infant, Scenario
from simengine.scenario.usual import (
    dose_limits,
    setting_limits,
    usual_doses,
    usual_values,
)
from tests.shipped import SCENARIOS, scenario


def doses(made: Scenario, drug: str) -> list[str]:
    return [dose.words for dose in usual_doses(made, made.vocabulary.actions[drug])]


def weighing(grams: float, under: str | None = None) -> Scenario:
    file = scenarios_dir() / "term-not-breathing.yaml"
    return load_scenario(file, protocol=under, infant=Infant(39 * 7.0, grams))


# --- settings -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_setting_offers_something_for_a_touch(name: str) -> None:
    made = scenario(name)
    for setting in made.vocabulary.settings.values():
        assert setting.words or usual_values(made, setting), setting.name


@pytest.mark.parametrize("name", SCENARIOS)
def test_oxygen_offers_21_30_40_60_and_100(name: str) -> None:
    made = scenario(name)
    assert {21, 30, 40, 60, 100} <= set(usual_values(made, made.vocabulary.settings["oxygen"]))


def test_what_the_protocol_says_for_this_baby_comes_first() -> None:
    """RCUK 2021: 30 cmH2O at term, 25 cmH2O below 32 weeks; 21 % at term (protocols/ercnls)."""
    term, preterm = scenario("term-responds"), scenario("preterm-30-weeks")
    assert usual_values(term, term.vocabulary.settings["peak_pressure"])[0] == 30
    assert usual_values(term, term.vocabulary.settings["oxygen"])[0] == 21
    assert usual_values(preterm, preterm.vocabulary.settings["peak_pressure"])[0] == 25


def test_each_value_is_offered_once_and_is_plausible() -> None:
    for name in SCENARIOS:
        made = scenario(name)
        for setting in made.vocabulary.settings.values():
            values = usual_values(made, setting)
            assert len(set(values)) == len(values)
            assert all(setting.plausible is None or setting.plausible.contains(v) for v in values)


def test_what_is_plausible_is_told_in_every_unit_of_the_dial() -> None:
    """300 mmHg are 40.0 kPa and 5.80 psi (NIST SP 811, 133.322 Pa and 6894.76 Pa)."""
    suction = scenario("cot-term").vocabulary.settings["suction_pressure"]
    assert setting_limits(suction) == {"mmHg": (0, 300), "kPa": (0, 40.0), "psi": (0, 5.8)}


# --- drugs ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("grams", "volume"),
    [(600, "0.12 mL"), (1000, "0.2 mL"), (2500, "0.5 mL"), (3400, "0.68 mL"), (4500, "0.9 mL")],
)
def test_adrenaline_is_offered_by_weight_and_ampoule(grams: float, volume: str) -> None:
    """RCUK 2021: 20 mcg/kg, which is 0.2 mL/kg of 0.1 mg/mL."""
    first = doses(weighing(grams), "adrenaline")[0]
    assert first == f"20 mcg/kg, {volume}, umbilical venous"


def test_a_range_is_offered_by_its_two_ends() -> None:
    """AHA 2020: 0.01 to 0.03 mg/kg, which are 0.1 to 0.3 mL/kg of 0.1 mg/mL (protocols/aha)."""
    doses_offered = doses(weighing(3000, under="aha-2020"), "adrenaline")[:2]
    assert doses_offered == [
        "10 mcg/kg, 0.3 mL, umbilical venous",
        "30 mcg/kg, 0.9 mL, umbilical venous",
    ]


def test_volume_is_offered_whole_beside_what_it_is_by_weight() -> None:
    assert doses(weighing(3400), "volume")[0] == "10 mL/kg, 34 mL, umbilical venous"


def test_beyond_half_and_double_is_questioned_by_the_route() -> None:
    made = weighing(3400)
    limits = dose_limits(made, made.vocabulary.actions["adrenaline"])
    assert limits["umbilical_vein"] == {"mcg/kg": (10, 40), "mcg": (34, 136), "mL": (0.34, 1.36)}
    assert limits["tracheal"]["mcg/kg"] == (25, 200)


def test_ten_times_the_dose_and_less_than_nothing_are_questioned() -> None:
    made = weighing(3400)
    low, high = dose_limits(made, made.vocabulary.actions["volume"])["umbilical_vein"]["mL"]
    assert low is not None
    assert high is not None
    assert not low <= 680 <= high
    assert not low <= -5 <= high


def test_a_drug_that_the_protocol_does_not_dose_is_offered_without() -> None:
    made = weighing(3400)
    assert usual_doses(made, made.vocabulary.actions["dry"]) == ()
