"""The shipped scenarios, vocabulary and protocols as examples that an educator would copy."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from simengine.quantities import Range
from simengine.resources import scenarios_dir
from simengine.scenario import check_file
from simengine.scenario.key import Avoid, Expect, Keep, Order, Repeat, Respond
from simengine.scenario.model import Adjust, Course, Scenario
from simengine.scenario.read_protocol import value_for
from tests.content.what_is_shipped import PROTOCOLS, SCENARIOS, baby, protocol, scenario, vocabulary

FILES = sorted(
    path.relative_to(scenarios_dir()).as_posix()
    for pattern in (
        "*.yaml",
        "vocabulary/*.yaml",
        "equipment/*.yaml",
        "physiology/*.yaml",
        "protocols/*.yaml",
    )
    for path in scenarios_dir().glob(pattern)
)


@pytest.mark.parametrize("file", FILES)
def test_a_shipped_file_has_no_problem_and_no_warning(file: str) -> None:
    assert [str(problem) for problem in check_file(scenarios_dir() / file)] == []


@pytest.mark.parametrize("file", FILES)
def test_a_shipped_file_is_short_and_says_its_schema_first(file: str) -> None:
    lines = (scenarios_dir() / file).read_text("utf-8").splitlines()
    # What is looked up and not copied may be longer: it has four forms of each action to name it
    # by, and each fault of a cot has its planting and its way back.
    assert len(lines) < (600 if file.startswith(("vocabulary/", "equipment/")) else 400)
    assert max(len(line) for line in lines) <= 100
    schema = lines[0].removeprefix("# yaml-language-server: $schema=")
    assert ((scenarios_dir() / file).parent / schema).resolve().name.endswith(".schema.json")
    assert schema == f"{'../' * (file.count('/') + 1)}schemas/{_kind(file)}.schema.json"


def test_the_lists_of_this_folder_name_every_shipped_file() -> None:
    assert tuple(sorted(p.stem for p in scenarios_dir().glob("*.yaml"))) == SCENARIOS
    assert tuple(sorted(p.stem for p in (scenarios_dir() / "protocols").glob("*"))) == PROTOCOLS


@pytest.mark.parametrize("under", PROTOCOLS)
@pytest.mark.parametrize("name", SCENARIOS)
def test_each_scenario_runs_under_each_protocol(name: str, under: str) -> None:
    loaded = scenario(name, under)
    assert loaded.protocol.id == under
    assert loaded.digest == scenario(name).digest
    ids = {item.id for item in scenario(name).key}
    # What a protocol does not teach is not asked under it.
    assert {item.id for item in loaded.key} == ids - not_taught(name, under)


def test_no_two_protocols_have_one_digest() -> None:
    assert len({protocol(name).digest for name in PROTOCOLS}) == len(PROTOCOLS)


@cache
def written(file: Path) -> dict[str, Any]:
    return yaml.load(file.read_text("utf-8"), Loader=yaml.CSafeLoader)  # type: ignore[no-any-return]


def not_taught(name: str, under: str) -> set[str]:
    return {
        item["id"]
        for item in written(scenarios_dir() / f"{name}.yaml")["key"]
        if "taught" in item and item["taught"] not in protocol(under).values
    }


@pytest.mark.parametrize("name", SCENARIOS)
def test_inflation_breaths_are_asked_where_the_protocol_teaches_them(name: str) -> None:
    """RCUK 2021: five inflation breaths of 2 to 3 s (from memory).

    At a birth: on the second day the lungs have long been open.
    """
    at_birth = scenario(name).start.clock == "birth" and any(
        item.id == "first-ventilation" for item in scenario(name).key
    )
    assert any(item.id == "inflation" for item in scenario(name, "ercnls-2021").key) == at_birth
    assert not any(item.id == "inflation" for item in scenario(name, "aha-2020").key)


@pytest.mark.parametrize("under", PROTOCOLS)
@pytest.mark.parametrize("name", SCENARIOS)
def test_no_item_names_a_guideline_that_was_not_chosen(name: str, under: str) -> None:
    """What a guideline states has its source from the chosen protocol, for this baby."""
    loaded = scenario(name, under)
    for item in loaded.key:
        reference = item.reference or ""
        if reference.startswith("protocol:"):
            value = loaded.protocol.values[reference.removeprefix("protocol:")]
            assert any(row.source in loaded.references[reference] for row in value.rows)
        else:
            named = loaded.references[reference]
            assert not any(body in named for body in ("RCUK", "Resuscitation Council", "ANZCOR"))


@pytest.mark.parametrize("under", PROTOCOLS)
@pytest.mark.parametrize("name", SCENARIOS)
def test_what_is_unsafe_in_any_baby_is_unsafe_in_every_scenario(name: str, under: str) -> None:
    loaded = scenario(name, under)
    assert loaded.waives == {}
    assert {item.id for item in loaded.never} == {
        f"never:{what}"
        for what in (
            "far_too_much",
            "no_place",
            "compressions_not_needed",
            "adrenaline_not_needed",
            "adrenaline_again_too_soon",
            "volume_not_needed",
            "glucose_not_needed",
            "compressions_kept_on",
            "compressions_given_up",
            "compressions_before_breaths",
            "pressure_above_highest",
            "pressure_far_above",
            "end_pressure_far_above",
            "too_much_oxygen",
            "no_breath",
            "breaths_given_up",
            "air_let_out_unlooked",
            "strong_suction",
        )
    }
    for item in loaded.never:
        assert item.why.endswith(".")
        assert item.source
        assert "never" not in f"{item.title} {item.why}".lower(), "a word of governance"


def test_the_decision_to_stop_ends_what_is_unsafe() -> None:
    assert [action.name for action in vocabulary().actions.values() if action.stops_care] == [
        "stop_care"
    ]


@pytest.mark.parametrize(("name", "stops"), [("preterm-25-weeks", True), ("term-responds", False)])
def test_too_much_oxygen_stops_a_pass_below_32_weeks_alone(name: str, stops: bool) -> None:
    (item,) = (item for item in scenario(name).never if item.id == "never:too_much_oxygen")
    assert item.stops_pass is stops


@pytest.mark.parametrize("name", [name for name in SCENARIOS if name.startswith("preterm")])
def test_below_32_weeks_the_oximeter_is_essential(name: str) -> None:
    (item,) = (item for item in scenario(name).key if item.id == "expect:oximeter")
    assert item.importance == "essential"


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_checked_cot_has_its_gas_off(name: str) -> None:
    """Common practice, no source: after the check the gas is off and the lines are purged."""
    start = scenario(name).start
    planted = any("gas_flow" in fault.settings for fault in start.faults.values())
    assert planted or start.settings.get("gas_flow", 0) == 0


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_item_says_why_in_one_sentence_and_from_where(name: str) -> None:
    for item in scenario(name).key:
        assert item.why.endswith("."), item.id
        assert item.why.count(". ") == 0, item.id
        assert item.reference in scenario(name).references, item.id
        assert item.objective in scenario(name).objectives, item.id


def test_the_scenarios_use_every_kind_of_item() -> None:
    used = {type(item) for name in SCENARIOS for item in scenario(name).key}
    assert used == {Expect, Respond, Repeat, Keep, Order, Avoid}


@pytest.mark.parametrize("name", SCENARIOS)
def test_the_briefing_tells_what_a_prebrief_needs(name: str) -> None:
    briefing = scenario(name).briefing
    wanted = {"learners", "facilitator", "risk", "cord_plan", "fiction_contract", "confidentiality"}
    assert wanted <= briefing.keys()


@pytest.mark.parametrize("name", PROTOCOLS)
def test_every_value_names_its_source_and_nobody_has_signed(name: str) -> None:
    assert protocol(name).signed_by is None
    assert all(row.source for value in protocol(name).values.values() for row in value.rows)


@pytest.mark.parametrize(
    ("name", "newer"),
    [("ercnls-2021", "ERC guidelines 2025"), ("aha-2020", "AHA and AAP guidelines 2025")],
)
def test_a_superseded_edition_says_by_which(name: str, newer: str) -> None:
    assert (protocol(name).superseded_by or "").startswith(newer)


@pytest.mark.parametrize(
    ("name", "publishers"),
    [
        ("aha-2020", ("AHA",)),
        ("aha-2025", ("AHA and AAP 2025",)),
        ("anzcor-2021", ("ANZCOR 2021",)),
        ("erc-2025", ("ERC 2025",)),
        ("ercnls-2021", ("RCUK", "ERC")),
        ("la-county-2024", ("Los Angeles County",)),
    ],
)
def test_a_guidelines_file_holds_its_own_figures_alone(
    name: str, publishers: tuple[str, ...]
) -> None:
    """What the file itself gives; the rest comes from common-practice with its own source."""
    path = scenarios_dir() / "protocols" / f"{name}.yaml"
    own = written(path)["values"]
    for value in own:
        for row in protocol(name).values[value].rows:
            assert row.source.startswith(publishers), value
    for value, stated in protocol(name).values.items():
        if value not in own:
            assert stated == protocol("common-practice").values[value]


def test_common_practice_is_marked_where_it_has_no_source() -> None:
    for value in protocol("common-practice").values.values():
        for row in value.rows:
            assert (value.evidence == "common practice") == (row.source == "common practice")


def test_the_local_example_changes_what_it_says_and_no_more() -> None:
    local, base = protocol("example-local").values, protocol("ercnls-2021").values
    assert {name for name in local if local[name] != base.get(name)} == {
        "cot_oxygen",
        "cot_peak_pressure",
    }


def test_no_key_is_taken_twice_or_from_the_console() -> None:
    keys = [a.key.upper() for a in vocabulary().actions.values() if a.key is not None]
    assert len(keys) == len(set(keys))
    assert not {"P", "Z", " ", "/", "?"} & set(keys)


def test_every_phase_and_every_role_has_an_action() -> None:
    actions = vocabulary().actions.values()
    assert {action.phase for action in actions} == set(vocabulary().phases)
    assert {action.role for action in actions} - {None} == set(vocabulary().roles)


@pytest.mark.parametrize("name", SCENARIOS)
def test_no_curve_can_leave_what_is_possible(name: str) -> None:
    """Every target, with every setting that shifts it at both ends of its plausible range."""
    possible = {"heart_rate": (30, 200), "spo2": (5, 100), "temperature": (30, 40)}
    for state in scenario(name).states.values():
        for observation, course in state.shows.items():
            if isinstance(course, Course):
                low, high = possible[observation]
                for value in (*_targets(course), course.start if course.start else course.to):
                    assert low <= value <= high, (state.name, observation)


def test_recovered_babies_do_not_contradict_dawson_2010() -> None:
    """Dawson 2010 (F177, read): heart rate at 5 min 163 (IQR 146-175) by oximeter.

    And SpO2 (Pediatrics 125:e1340, read): at 5 min 3rd and 97th centile 59 and 98 %.
    """
    for name, state in (
        ("term-not-breathing", "settled"),
        ("preterm-30-weeks", "breathing_better"),
    ):
        shows = scenario(name).states[state].shows
        rate, saturation = shows["heart_rate"], shows["spo2"]
        assert isinstance(rate, Course)
        assert isinstance(saturation, Course)
        assert 146 <= rate.to <= 175
        assert 59 <= saturation.to <= 98


def test_a_breathing_preterm_baby_starts_within_dawson_2010() -> None:
    """Dawson 2010: at 1 min heart rate 96 (IQR 65-127); SpO2 3rd and 97th centile 29 and 92 %."""
    shows = scenario("preterm-30-weeks").states["on_cord"].shows
    rate, saturation = shows["heart_rate"], shows["spo2"]
    assert isinstance(rate, Course)
    assert isinstance(saturation, Course)
    assert 65 <= rate.to <= 127
    assert 29 <= saturation.to <= 92


def test_compressions_are_asked_only_after_ventilation_that_moves_the_chest() -> None:
    item = next(i for i in scenario("term-not-breathing").key if i.id == "compressions")
    assert isinstance(item, Respond)
    assert item.lasting_ms == 30_000
    longer = next(
        i for i in scenario("term-not-breathing", "la-county-2024").key if i.id == "compressions"
    )
    assert isinstance(longer, Respond)
    assert longer.lasting_ms == 90_000


def test_adrenaline_asks_strength_dose_route_and_flush() -> None:
    item = next(i for i in scenario("term-not-breathing").key if i.id == "adrenaline")
    assert isinstance(item, Respond)
    assert item.dose is not None
    assert set(item.dose.by_route) == {"umbilical_vein", "intraosseous", "tracheal"}
    vein = item.dose.by_route["umbilical_vein"]
    assert isinstance(vein, Range)
    assert vein.contains(20)
    assert not vein.contains(200)
    assert isinstance(item.dose.strength, Range)
    assert item.dose.strength.contains(0.1)
    assert not item.dose.strength.contains(1)
    assert item.dose.flush is not None


def test_a_small_baby_is_never_asked_to_be_dried() -> None:
    key = scenario("preterm-30-weeks").key
    drying = [item for item in key if isinstance(item, Expect) and "dry" in str(item.asked)]
    assert drying == []
    assert any(isinstance(item, Avoid) and "dry" in str(item.what) for item in key)


def test_the_cot_with_planted_faults_must_be_returned_to_service() -> None:
    assert scenario("cot-term").returns_cot
    assert len(scenario("cot-term").start.faults) == 11
    assert not scenario("term-not-breathing").returns_cot


def test_each_planted_fault_is_one_and_the_rest_of_the_cot_is_right() -> None:
    """Preparing a cot: common practice, no source."""
    cot = scenario("cot-term", "common-practice")
    supply = vocabulary().supplies["oxygen_cylinder"]
    kept = {
        "heater_output": _cot("cot_heater_resting", "%", 0).contains(_set(cot, "heater_output")),
        "end_pressure": _cot("cot_end_pressure", "cmH2O", 1).contains(_set(cot, "end_pressure")),
        "peak_pressure": _cot("cot_peak_pressure", "cmH2O", 2).contains(_set(cot, "peak_pressure")),
        "oxygen": _cot("cot_oxygen", "%", 5).contains(_set(cot, "oxygen")),
        "suction": _cot("cot_suction", "mmHg", 0).contains(_set(cot, "suction_pressure")),
        "oxygen_cylinder": _cot("cot_cylinder", "%", 0).contains(
            100 * cot.start.supplies["oxygen_cylinder"] / supply.capacity
        ),
        "air_cylinder": _cot("cot_cylinder", "%", 0).contains(
            100 * cot.start.supplies["air_cylinder"] / supply.capacity
        ),
    }
    assert {name for name, right in kept.items() if right} == {
        "heater_output",
        "end_pressure",
        "air_cylinder",
    }


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_shipped_pass_mark_says_that_nobody_has_set_it(name: str) -> None:
    scoring = scenario(name).scoring
    assert scoring.pass_mark is not None
    assert scoring.standard is not None
    assert scoring.standard.demonstration
    assert "Invented for demonstration" in scoring.standard.method
    assert "Invented for demonstration" in scoring.standard.panel
    assert not scoring.is_set


def _cot(value: str, unit: str, tolerance: float) -> Range:
    wanted = value_for(protocol("common-practice"), value, baby(39), unit, tolerance)
    assert isinstance(wanted, Range)
    return wanted


def _set(loaded: Scenario, setting: str) -> float:
    value = loaded.start.settings[setting]
    assert isinstance(value, float)
    return value


def _targets(course: Course) -> list[float]:
    """The target with each setting at its lowest and at its highest plausible value."""
    shifted = []
    adjusts = [adjust for adjust in course.adjust if isinstance(adjust, Adjust)]
    settings = {adjust.setting for adjust in adjusts}
    for end in ("low", "high"):
        target = course.to
        for adjust in adjusts:
            plausible = vocabulary().settings[adjust.setting].plausible
            assert plausible is not None
            value = plausible.low if end == "low" else plausible.high
            beyond = value - adjust.reference
            if adjust.side == "below":
                beyond = -beyond
            target += max(0.0, beyond) / adjust.per * adjust.by
        shifted.append(target)
    return shifted if settings else [course.to]


def _kind(file: str) -> str:
    parent = Path(file).parent.name
    return {"": "scenario", "protocols": "protocol"}.get(parent, parent)


def test_a_baby_without_a_weight_is_one_mistake(tmp_path: Path) -> None:
    file = tmp_path / "term-not-breathing.yaml"
    text = (scenarios_dir() / file.name).read_text(encoding="utf-8")
    file.write_text(text.replace(", weight: 3.4 kg", ""), encoding="utf-8")
    (problem,) = check_file(file)
    assert "expected the key 'weight', found none" in str(problem)
