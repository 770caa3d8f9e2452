"""What a protocol calls unsafe in any baby, its doses, and figures of it that are scaled."""

from __future__ import annotations

from pathlib import Path

import pytest

from simengine.problems import InputError
from simengine.quantities import Range
from simengine.scenario import check_file, load_scenario
from simengine.scenario.conditions import All, Doing, Lately, Not, Read, SettingIs, SoFar
from simengine.scenario.key import AskedAction, Avoid, GivenDose
from simengine.scenario.model import Infant, Scenario

VALID = Path(__file__).parents[1] / "scenarios" / "valid"
FILE = VALID / "small-unsafe.yaml"


def never(scenario: Scenario) -> dict[str, Avoid]:
    return {item.id.removeprefix("never:"): item for item in scenario.never}


@pytest.fixture(scope="module")
def term() -> Scenario:
    return load_scenario(FILE)


def test_each_is_an_avoid_item_with_words_and_a_source(term: Scenario) -> None:
    assert term.never
    for item in term.never:
        assert item.never
        assert item.id.startswith("never:")
        assert item.title
        assert item.source
    assert never(term)["begun_too_soon"].why == "The heart is beating well enough."


def test_it_takes_a_tenth_and_stops_a_pass_unless_it_says_otherwise(term: Scenario) -> None:
    items = never(term)
    assert (items["kept_on"].deduct, items["kept_on"].stops_pass) == (0.1, True)
    mild = items["drug_without_place"]
    assert (mild.deduct, mild.stops_pass) == (0.05, False)
    assert (items["pressure"].at_most, items["pressure"].once) == (0.1, True)


def test_it_may_stop_a_pass_below_a_gestation_alone(term: Scenario) -> None:
    early = load_scenario(FILE, infant=Infant(31 * 7, 1500.0))
    assert not never(term)["oxygen"].stops_pass
    assert never(early)["oxygen"].stops_pass


def test_it_holds_for_a_scenario_whose_author_never_thought_of_it() -> None:
    plain = VALID / "small.yaml"
    assert load_scenario(plain).never == ()
    under = load_scenario(plain, protocol="small-unsafe")
    assert set(never(under)) == set(never(load_scenario(FILE)))


def test_a_protocol_has_what_the_one_that_it_extends_says_and_replaces_it_by_name(
    tmp_path: Path,
) -> None:
    local = tmp_path / "local.yaml"
    local.write_text(
        "format: 1\nid: local\ntitle: Local\nedition: '1'\nsource: Invented\nstatus: unsigned\n"
        "extends: small-unsafe\n"
        "never:\n  pressure: {title: Local words, avoid: suction, source: Ours, deduct: 5 %}\n",
        encoding="utf-8",
    )
    items = never(load_scenario(FILE, protocol=local, search=[VALID]))
    assert set(items) == set(never(load_scenario(FILE)))
    assert items["pressure"].title == "Local words"
    assert items["pressure"].what == AskedAction("suction")


def test_what_is_waived_is_left_out_with_its_reason(tmp_path: Path) -> None:
    file = waiving(tmp_path, "pressure: It is what is taught here")
    scenario = load_scenario(file, search=[VALID])
    assert "pressure" not in never(scenario)
    assert scenario.waives == {"pressure": "It is what is taught here"}


def test_an_unknown_waiver_is_an_error_under_the_own_protocol_and_a_warning_under_others(
    tmp_path: Path,
) -> None:
    file = waiving(tmp_path, "presure: Misspelt")
    with pytest.raises(InputError, match="did you mean 'pressure'"):
        load_scenario(file, search=[VALID])
    problems = check_file(file, protocol="small", search=[VALID])
    assert [problem.level for problem in problems if problem.found == "'presure'"] == ["warning"]


def waiving(folder: Path, waiver: str) -> Path:
    file = folder / "waiving.yaml"
    text = FILE.read_text(encoding="utf-8")
    file.write_text(text.replace("start:", f"waives: {{{waiver}}}\nstart:", 1), encoding="utf-8")
    return file


def test_what_has_no_figure_for_this_baby_is_left_out_and_that_is_told() -> None:
    early = load_scenario(FILE, infant=Infant(31 * 7, 1500.0))
    assert "flow" not in never(early)
    term = never(load_scenario(FILE))["flow"]
    assert isinstance(term.what, All)
    assert term.what.parts[1] == SettingIs("gas_flow", Range(low=15.0, low_open=True))


def test_a_dose_is_linked_to_its_range_by_action_and_route(term: Scenario) -> None:
    assert term.doses == {"adrenaline": {"vein": Range(10.0, 30.0), "bone": Range(10.0, 30.0)}}
    assert never(term)["too_large_a_dose"].what == GivenDose(2.0)
    assert never(term)["drug_without_place"].what == GivenDose(None)


def test_a_beginning_is_judged_under_a_condition(term: Scenario) -> None:
    item = never(term)["begun_too_soon"]
    assert item.begun
    assert item.what == AskedAction("compressions", ("adrenaline",))
    assert isinstance(item.only_while, All)
    assert item.only_while.parts[1] == Not(
        Read("heart_rate", Range(high=60.0, high_open=True), 60_000)
    )


def test_figures_of_the_protocol_are_scaled(term: Scenario) -> None:
    items = never(term)
    assert items["kept_on"].lasting_ms == 30_000 + 15_000
    assert items["too_little_air_first"].only_while == Not(
        SoFar(Doing("mask_ventilation"), round(30_000 * 0.667))
    )
    pressure = items["pressure"].what
    assert isinstance(pressure, All)
    wanted = pressure.parts[1]
    assert isinstance(wanted, SettingIs)
    assert wanted.wanted == Range(low=45.0, low_open=True)
    assert isinstance(wanted.wanted, Range)
    assert (wanted.wanted.text, wanted.wanted.protocol) == ("above 45 cmH2O", "highest_pressure")


def test_what_has_lately_been_so_has_its_time(term: Scenario) -> None:
    oxygen = never(term)["oxygen"].what
    assert isinstance(oxygen, All)
    assert oxygen.parts[-1] == Not(Lately(Doing("compressions"), 60_000))


def test_a_protocol_of_other_names_says_nothing_here() -> None:
    scenario = load_scenario(VALID / "small.yaml", protocol="small-of-others", search=[VALID])
    assert scenario.never == ()
    assert scenario.doses == {}
