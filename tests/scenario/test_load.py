"""Loading: what a file says becomes plain data, under the protocol and for the baby chosen."""

from __future__ import annotations

from pathlib import Path
from typing import TypeVar

import pytest

from simengine.problems import InputError
from simengine.quantities import Range
from simengine.scenario import (
    check_file,
    find_scenario,
    load_protocol,
    load_scenario,
    load_vocabulary,
    scenario_file,
    scenario_ids,
)
from simengine.scenario.conditions import (
    All,
    AnyOf,
    ClockIs,
    Doing,
    Done,
    FaultIs,
    Not,
    Observed,
    Seen,
    SettingIs,
    SupplyIs,
)
from simengine.scenario.key import (
    Anchor,
    AskedAction,
    AskedFault,
    AskedSetting,
    Avoid,
    Expect,
    Keep,
    Order,
    Repeat,
    Respond,
    Standard,
)
from simengine.scenario.model import Adjust, Course, Infant, MendedBySetting, Scenario
from simengine.scenario.protocol import SignedBy
from simengine.scenario.wanted import OneOf, Steps

VALID = Path(__file__).parents[1] / "scenarios" / "valid"
SMALL = VALID / "small.yaml"


@pytest.fixture(scope="module")
def small() -> Scenario:
    return load_scenario(SMALL)


Kind = TypeVar("Kind")


def item(scenario: Scenario, name: str, kind: type[Kind]) -> Kind:
    (named,) = [item for item in scenario.key if item.id == name]
    assert isinstance(named, kind)
    return named


def test_the_start_is_read_in_the_vocabularys_units(small: Scenario) -> None:
    assert small.infant == Infant(gestation_days=273.0, weight_g=3400.0)
    assert small.planned_ms == 300_000
    assert small.start.settings == {
        "oxygen": 30.0,
        "gas_flow": 8.0,
        "peak_pressure": 40.0,
        "light": "on",
    }
    assert small.start.supplies == {"cylinder": pytest.approx(207.0)}  # 45 % of 460 L
    assert small.start.doing == ("oximeter",)
    assert small.start.clock == "birth"
    assert small.returns_cot
    assert not small.silent_clock


def test_faults_are_put_right_by_an_action_or_a_setting(small: Scenario) -> None:
    assert small.start.faults["half_empty"].mended_by == "change_cylinder"
    wanted = MendedBySetting("peak_pressure", Range(28.0, 32.0))
    assert small.start.faults["pressure_high"].mended_by == wanted


def test_a_course_has_target_start_time_and_shifts(small: Scenario) -> None:
    limp = small.states["limp"]
    assert limp.shows["breathing"] == "absent"
    assert limp.shows["heart_rate"] == Course(to=70.0, start=90.0, within_ms=30_000)
    assert limp.shows["spo2"] == Course(
        30.0, 40.0, 60_000, (Adjust("oxygen", "above", 30.0, 10.0, 1.0),)
    )
    assert small.states["worse"].shows["heart_rate"] == Course(40.0, None, 60_000)


def test_a_condition_asks_for_all_that_it_names(small: Scenario) -> None:
    first, second = small.states["limp"].next
    assert first.when == All(
        (
            Doing("mask_ventilation"),
            SettingIs("peak_pressure", Range(low=25.0)),
            SettingIs("light", OneOf(("on",))),
            AnyOf((Observed("heart_rate", Range(low=50.0, low_open=True)), Not(Seen("spo2")))),
        )
    )
    assert (first.lasting_ms, first.after_ms, first.index) == (20_000, None, 0)
    assert (second.when, second.after_ms, second.index) == (None, 75_000, 1)
    (other, _) = small.states["worse"].next
    assert other.when == All((Done("adrenaline", ever=True), ClockIs(Range(low=90_000.0))))
    (over, _) = small.states["better"].next
    assert over.when == All(
        (FaultIs("half_empty", "mended"), SupplyIs("cylinder", Range(low=230.0)))
    )


def test_every_kind_of_key_item_is_read(small: Scenario) -> None:
    first = item(small, "expect:mask_ventilation", Expect)
    assert (first.asked, first.anchor) == (AskedAction("mask_ventilation"), Anchor("clock"))
    assert (first.ideal_ms, first.latest_ms, first.settle_ms) == (60_000, 90_000, 10_000)
    assert (first.importance, first.objective, first.role) == ("essential", "ventilate", "airway")
    assert first.title == "Ventilation"
    assert first.settings["gas_flow"] == Range(7.0, 9.0)
    higher = item(small, "expect:oxygen", Expect)
    assert higher.asked == AskedSetting("oxygen", direction="higher")
    assert (higher.anchor, higher.each) == (Anchor("state", "worse"), True)
    assert higher.until == ("better",)
    assert higher.latest_ms == higher.ideal_ms == 30_000
    light = item(small, "expect:light", Expect)
    assert light.asked == AskedSetting("light", to=OneOf(("on",)))
    assert light.as_found_counts
    expected = item(small, "expect:half_empty", Expect)
    assert expected.asked == AskedFault("half_empty", "found")
    assert expected.anchor == Anchor("fault", "half_empty")
    assert item(small, "expect:half_empty:2", Expect).asked == AskedFault("half_empty", "mended")
    dose = item(small, "expect:adrenaline", Expect).dose
    assert dose is not None
    assert dose.by_route == {"vein": Range(18.0, 22.0), "bone": Range(10.0, 30.0)}
    assert dose.routes == ("vein", "bone")
    assert dose.strength == Range(0.1, 0.1)
    assert dose.flush == Range(low=0.0, low_open=True)
    slow = item(small, "heart-slow", Respond)
    assert slow.lasting_ms == 30_000  # the protocol's `recheck`
    assert slow.whenever == Observed("heart_rate", Range(high=60.0, high_open=True))
    listening = item(small, "repeat:listen", Repeat)
    assert (listening.every_ms, listening.grace_ms, listening.spoken) == (30_000, 15_000, True)
    kept = item(small, "keep:peak_pressure", Keep)
    assert (kept.during, kept.share) == (("limp",), 0.9)
    order = item(small, "order:mask_ventilation", Order)
    assert order.actions == ("mask_ventilation", "compressions")
    high = item(small, "avoid:oxygen", Avoid)
    assert (high.lasting_ms, high.deduct, high.at_most) == (10_000, 0.05, 0.1)
    assert item(small, "avoid:compressions", Avoid).what == AskedAction("compressions")


def test_a_protocol_value_takes_the_row_of_the_baby(small: Scenario) -> None:
    wanted = item(small, "expect:mask_ventilation", Expect).settings
    # 39 weeks: 21 %, a bare quantity, so with the setting's own tolerance of 5 %.
    assert wanted["oxygen"] == Range(16.0, 26.0)
    assert getattr(wanted["oxygen"], "protocol", None) == "starting_oxygen"
    # 3.4 kg: 3 kPa, in cmH2O (NIST SP 811: 98.0665 Pa), with a tolerance of 2 cmH2O.
    pressure = wanted["peak_pressure"]
    assert isinstance(pressure, Range)
    assert pressure.low == pytest.approx(3000 / 98.0665 - 2)
    assert pressure.high == pytest.approx(3000 / 98.0665 + 2)
    above = item(small, "avoid:oxygen", Avoid).what
    assert above == SettingIs("oxygen", Range(low=26.0, low_open=True))


@pytest.mark.parametrize(
    ("days", "wanted"),
    [
        (27 * 7 + 6, Range(25.0, 35.0)),
        (28 * 7, Range(21.0, 30.0)),
        (31 * 7 + 6, Range(21.0, 30.0)),
        (32 * 7, Range(16.0, 26.0)),
    ],
)
def test_another_baby_takes_another_row(days: int, wanted: Range) -> None:
    scenario = load_scenario(SMALL, infant=Infant(float(days), 1200.0))
    assert item(scenario, "expect:mask_ventilation", Expect).settings["oxygen"] == wanted
    assert scenario.infant.gestation_days == days


def test_a_baby_below_the_first_row_is_refused_in_words() -> None:
    with pytest.raises(InputError, match="'starting_pressure' begins at 1000 g"):
        load_scenario(SMALL, infant=Infant(273.0, 999.0))


def test_the_scenario_can_be_run_under_another_protocol(small: Scenario) -> None:
    with pytest.raises(InputError, match="a value of protocol 'small-base'"):
        load_scenario(SMALL, protocol="small-base")
    by_path = load_scenario(SMALL, protocol=VALID / "protocols" / "small.yaml")
    assert by_path == small
    with pytest.raises(InputError, match="did you mean 'small'"):
        load_scenario(SMALL, protocol="smal")


def test_a_table_by_the_clock_stays_a_table(tmp_path: Path) -> None:
    text = SMALL.read_text(encoding="utf-8").replace(
        "{observed: {heart_rate: below 60 /min}}",
        "{observed: {spo2: {protocol: spo2_target, side: below}}}",
    )
    file = tmp_path / "small.yaml"
    file.write_text(text, encoding="utf-8")
    slow = item(load_scenario(file, search=[VALID]), "heart-slow", Respond)
    assert slow.whenever == Observed(
        "spo2",
        Steps(
            (
                (60_000, Range(high=60.0, high_open=True)),
                (300_000, Range(high=85.0, high_open=True)),
            ),
            "spo2_target",
        ),
    )


def test_an_item_may_name_the_source_that_the_protocol_gives(tmp_path: Path) -> None:
    text = SMALL.read_text(encoding="utf-8").replace(
        "    reference: small\n", "    reference: {protocol: starting_oxygen}\n"
    )
    file = tmp_path / "small.yaml"
    file.write_text(text, encoding="utf-8")
    references = load_scenario(file, search=[VALID])
    ventilation = item(references, "expect:mask_ventilation", Expect)
    value = load_protocol(VALID / "protocols" / "small.yaml").values["starting_oxygen"]
    assert ventilation.reference is not None
    assert references.references[ventilation.reference] in {row.source for row in value.rows}


def test_an_item_that_a_protocol_does_not_teach_is_left_out(tmp_path: Path) -> None:
    text = SMALL.read_text(encoding="utf-8")
    file = tmp_path / "small.yaml"
    for value, taught in (("recheck", True), ("inflations", False)):
        file.write_text(
            text.replace("{repeat: listen,", f"{{taught: {value}, repeat: listen,"), "utf-8"
        )
        key = load_scenario(file, search=[VALID])
        assert any(isinstance(entry, Repeat) for entry in key.key) is taught
    file.write_text(text.replace("{repeat: listen,", "{taught: rechek, repeat: listen,"), "utf-8")
    with pytest.raises(InputError, match="did you mean 'recheck'"):
        load_scenario(file, search=[VALID])


def test_a_protocol_has_the_values_of_the_one_that_it_extends() -> None:
    small = load_protocol(VALID / "protocols" / "small.yaml")
    base = load_protocol(VALID / "protocols" / "small-base.yaml")
    assert small.values["recheck"] == base.values["recheck"]
    assert small.values["starting_oxygen"] != base.values["starting_oxygen"]
    assert [row.since for row in small.values["starting_oxygen"].rows] == [None, 196.0, 224.0]
    assert small.signed_by == SignedBy("A tester", "2026-01-31")
    assert base.signed_by is None


def test_the_vocabulary_is_plain_data() -> None:
    vocabulary = load_vocabulary(VALID / "vocabulary" / "small.yaml")
    assert vocabulary.settings["oxygen"].plausible == Range(21.0, 100.0)
    assert vocabulary.settings["light"].words == ("off", "on")
    assert vocabulary.observations["heart_rate"].revealed_by[1].streams
    assert vocabulary.observations["heart_rate"].revealed_by[1].delay_ms == 60_000
    assert vocabulary.actions["mask_ventilation"].shortest_ms == 5_000
    assert vocabulary.supplies["cylinder"].drains[0].air == pytest.approx(0.21)
    assert vocabulary.supplies["cylinder"].unit == "L"


def test_comments_and_layout_change_no_digest(small: Scenario, tmp_path: Path) -> None:
    lines = SMALL.read_text(encoding="utf-8").splitlines()
    text = "\n".join(f"{line}   # a remark" for line in lines if not line.startswith("#"))
    text = text.replace("planned_time: 5 min", "planned_time: '5 min'")
    file = tmp_path / "small.yaml"
    file.write_text(text + "\n", encoding="utf-8")
    assert load_scenario(file, search=[VALID]).digest == small.digest
    file.write_text(text.replace("after: 75 s", "after: 76 s"), encoding="utf-8")
    assert load_scenario(file, search=[VALID]).digest != small.digest


def test_a_change_in_the_protocol_extended_changes_the_digest(tmp_path: Path) -> None:
    before = load_protocol(VALID / "protocols" / "small.yaml").digest
    for name in ("small", "small-base"):
        text = (VALID / "protocols" / f"{name}.yaml").read_text(encoding="utf-8")
        text = text.replace("range: 30 s", "range: 45 s")
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
    assert load_protocol(tmp_path / "small.yaml").digest != before


def test_scenarios_are_found_by_id(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert find_scenario("small", [VALID]) == VALID / "small.yaml"
    assert find_scenario("no-such", [VALID]) is None
    assert find_scenario("../small", [VALID / "protocols"]) is None
    renamed = tmp_path / "other-name.yaml"
    renamed.write_text(SMALL.read_text(encoding="utf-8").replace("id: small", "id: renamed"))
    assert find_scenario("renamed", [tmp_path]) == renamed
    monkeypatch.chdir(tmp_path)
    assert scenario_file("renamed").resolve() == renamed
    assert scenario_file("other-name.yaml") == Path("other-name.yaml")
    with pytest.raises(InputError, match="did you mean 'term-not-breathing'"):
        scenario_file("term-not-breathin")


def test_a_name_too_long_for_a_file_is_told_as_one_that_is_not_there(tmp_path: Path) -> None:
    file = tmp_path / "own.yaml"
    long = "x" * 5_000
    file.write_text(f"format: 1\nid: own\ntitle: Own\nextends: {long}\n", encoding="utf-8")
    problems = check_file(file)
    unknown = [problem for problem in problems if problem.code == "unknown-name"]
    assert [problem.path for problem in unknown] == ["extends"]
    with pytest.raises(InputError, match="or the id of a protocol"):
        load_protocol(long)


def test_the_shipped_scenarios_are_listed() -> None:
    ids = scenario_ids([])
    assert {"cot-term", "term-not-breathing", "preterm-30-weeks"} <= set(ids)


def test_a_dispute_is_told_for_the_babies_whom_it_concerns(tmp_path: Path) -> None:
    text = SMALL.read_text(encoding="utf-8")
    protocol = (VALID / "protocols" / "small.yaml").read_text(encoding="utf-8")
    dispute = (
        "    disputed: {since: 32 wk, below: 34 wk, why: two tables}\n    rows: [{range: 30 %}"
    )
    (tmp_path / "small.yaml").write_text(protocol.replace("    rows: [{range: 30 %}", dispute))
    for gestation, disputes in (("31 wk 6 d", 0), ("32 wk", 1), ("33 wk 6 d", 1), ("34 wk", 0)):
        file = tmp_path / "scenario.yaml"
        file.write_text(text.replace("39 wk", gestation), encoding="utf-8")
        problems = check_file(file, search=[VALID])
        assert [problem.code for problem in problems] == ["disputed"] * disputes


def test_scoring_has_its_defaults_and_what_the_scenario_says(small: Scenario) -> None:
    assert small.scoring.weights == {"essential": 4.0, "important": 2.0, "helpful": 1.0}
    assert small.scoring.pass_mark == 0.75
    assert small.scoring.standard == Standard("none", "invented, for tests", "2026-01-31", 0.05)
    assert small.scoring.essential_floor == 0.5
    assert small.scoring.recording_sd_ms == 4_400.0
    assert small.states["over"].linger_ms == 10_000
