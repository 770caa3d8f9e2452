"""What is wrong with the cot acts on the baby, for as long as it is not put right.

Each fault is planted in a shipped scenario, whose team then gives breaths as the guidelines ask.
How far each goes is a teaching choice of the physiology; that a blender whose oxygen fails gives
air, and one whose air fails oxygen alone, is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
import yaml

from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from simengine.scenario.conditions import FaultIs, leaves
from simengine.scenario.model import Course, Scenario
from simengine.session.dynamics import curve_at
from simengine.session.full_speed import Timed, play
from simengine.session.record import Session
from tests.content.what_is_shipped import scenario as shipped
from tests.session.small import WALL, birth, did, opened, put

TERM = "term-responds"
BREATHS = {"peak_pressure": (30, "cmH2O"), "end_pressure": (5, "cmH2O"),
    "ventilation_rate": (30, "/min"), "gas_flow": (8, "L/min")}  # fmt: skip
START = {
    "settings": {"oxygen": "30 %", "gas_flow": "0 L/min", "peak_pressure": "30 cmH2O",
        "end_pressure": "5 cmH2O"},
    "supplies": {"oxygen_cylinder": "90 %", "air_cylinder": "90 %"},
}  # fmt: skip
PUT_RIGHT_MS = 90_000


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("faulty")


@cache
def faulty(folder: Path, *faults: str) -> Scenario:
    """The shipped term scenario with faults planted, and what they leave not said twice."""
    cot = yaml.safe_load((scenarios_dir() / "equipment" / "newborn.yaml").read_text("utf-8"))
    known = {name: fault for row in cot["rows"].values() for name, fault in row["faults"].items()}
    left = {
        kind: {changed for name in faults for changed in known[name].get(kind, {})}
        for kind in START
    }
    start = "".join(
        f"  {kind}: {{{', '.join(f'{k}: {v}' for k, v in as_is.items() if k not in left[kind])}}}\n"
        for kind, as_is in START.items()
    )
    text = (scenarios_dir() / f"{TERM}.yaml").read_text("utf-8")
    begin, end = text.index("  settings: "), text.index("\nstates:")
    text = f"{text[:begin]}{start}  faults: [{', '.join(faults)}]\n{text[end:]}"
    file = folder / f"{TERM}.yaml"
    file.write_text(text, encoding="utf-8")
    return load_scenario(file)


def breaths(device: str = "", oxygen: float = 30) -> list[Timed]:
    figures = {name: {"value": value, "unit": unit} for name, (value, unit) in BREATHS.items()}
    figures["oxygen"] = {"value": oxygen, "unit": "%"}
    if device:
        figures["ventilation_device"] = {"value": device}
    return [
        did(10_000, "head_neutral"),
        did(15_000, "mask_ventilation", "start", settings=figures),
    ]


def right(*faults: str) -> list[Timed]:
    return [
        Timed(PUT_RIGHT_MS, "fault", {"fault": fault, "status": "mended"}, by="facilitator")
        for fault in faults
    ]


def run(scenario: Scenario, *script: Timed, until: int = 300_000) -> Session:
    return play(
        scenario, [birth(1_000), *script], opened=opened("rehearsal"), wall=WALL, until_ms=until
    )


def states(session: Session) -> list[str]:
    return [stay.state for stay in session.stays]


def value(session: Session, observation: str, at_ms: int) -> float:
    height = curve_at(session.curves[observation], at_ms)
    assert height is not None
    return height


NO_BREATH = [
    (("t_piece_leaks",), ""),
    (("t_piece_disconnected",), ""),
    (("t_piece_outlet_blocked",), ""),
    (("oxygen_cylinder_empty", "air_cylinder_empty"), ""),
    (("oxygen_cylinder_shut", "air_cylinder_shut"), ""),
    (("oxygen_cylinder_shut", "hose_off", "air_cylinder_shut"), ""),
    (("oxygen_cylinder_empty", "wall_oxygen_absent", "air_cylinder_empty"), ""),
    (("bag_valve_stuck",), "self-inflating bag"),
    (("bag_mask_wrong",), "self-inflating bag"),
]


@pytest.mark.parametrize(("faults", "device"), NO_BREATH)
def test_no_breath_goes_in_until_the_fault_is_put_right(
    folder: Path, faults: tuple[str, ...], device: str
) -> None:
    scenario = faulty(folder, *faults)
    assert "ventilated" not in states(run(scenario, *breaths(device)))
    mended = run(scenario, *breaths(device), *right(*faults))
    entered = next(stay for stay in mended.stays if stay.state == "ventilated")
    assert entered.entry_ms == PUT_RIGHT_MS + 6_000
    assert "breathing" in states(mended)


@pytest.mark.parametrize(
    ("faults", "device"),
    [(faults, "" if device else "self-inflating bag") for faults, device in NO_BREATH],
)
def test_the_other_device_still_gives_breaths(
    folder: Path, faults: tuple[str, ...], device: str
) -> None:
    assert "breathing" in states(run(faulty(folder, *faults), *breaths(device)))


def test_a_fault_that_comes_later_takes_the_breaths_away(folder: Path) -> None:
    fault = "t_piece_disconnected"
    planted = Timed(60_000, "fault", {"fault": fault, "status": "planted"}, by="facilitator")
    whole = faulty(folder, fault)
    later = replace(whole.start.faults[fault], planted_at_start=False)
    scenario = replace(whole, start=replace(whole.start, faults={fault: later}))
    session = run(scenario, *breaths(), planted)
    assert "breathing" not in states(session)
    assert value(session, "heart_rate", 120_000) < 100
    assert "breathing" in states(run(scenario, *breaths(), planted, *right(fault)))


def test_a_relief_below_the_peak_pressure_lets_every_breath_off() -> None:
    low = put(12_000, "relief_limit", 20, "cmH2O")
    assert "ventilated" not in states(run(shipped(TERM), low, *breaths()))
    turned_up = put(40_000, "relief_limit", 40, "cmH2O")
    assert "breathing" in states(run(shipped(TERM), low, *breaths(), turned_up))


@pytest.mark.parametrize(
    ("fault", "dial"),
    [("oxygen_cylinder_empty", 60), ("oxygen_cylinder_shut", 60), ("blender_gives_less", 60),
     ("hoses_crossed", 100)],
)  # fmt: skip
def test_a_baby_who_gets_air_for_oxygen_does_not_come_to_the_spo2_asked(
    folder: Path, fault: str, dial: float
) -> None:
    scenario = faulty(folder, fault)
    late = 240_000
    alone = run(scenario, *breaths(oxygen=dial))
    assert value(alone, "spo2", late) < 79
    # The breaths go in, with air: the heart comes back.
    assert value(alone, "heart_rate", late) > 100
    assert value(run(scenario, *breaths(oxygen=dial), *right(fault)), "spo2", late) > 85


@pytest.mark.parametrize(
    ("fault", "dial"),
    [("air_cylinder_empty", 30), ("air_cylinder_shut", 30), ("blender_gives_more", 30),
     ("hoses_crossed", 21)],
)  # fmt: skip
def test_a_baby_who_gets_more_oxygen_than_dialled_has_a_higher_spo2(
    folder: Path, fault: str, dial: float
) -> None:
    late = 240_000
    sound = value(run(shipped(TERM), *breaths(oxygen=dial)), "spo2", late)
    faulty_cot = faulty(folder, fault)
    assert value(run(faulty_cot, *breaths(oxygen=dial)), "spo2", late) > sound + 3
    mended = run(faulty_cot, *breaths(oxygen=dial), *right(fault))
    assert value(mended, "spo2", late) == pytest.approx(sound, abs=1)


@pytest.mark.parametrize("fault", ["hose_off", "wall_oxygen_absent"])
def test_a_cot_whose_wall_oxygen_fails_runs_on_its_cylinder(folder: Path, fault: str) -> None:
    """And without one in the scenario there is no oxygen until it is put right."""
    late = 240_000
    scenario = faulty(folder, fault)
    script = breaths(oxygen=60)
    assert value(run(scenario, *script), "spo2", late) > 85
    supplies = {"air_cylinder": scenario.start.supplies["air_cylinder"]}
    alone = replace(scenario, start=replace(scenario.start, supplies=supplies))
    assert value(run(alone, *script), "spo2", late) < 79
    assert value(run(alone, *script, *right(fault)), "spo2", late) > 85


@pytest.mark.parametrize("fault", ["heater_failed", "power_lead_out", "heater_on_probe"])
def test_a_heater_that_is_cold_does_not_warm_until_it_is_put_right(
    folder: Path, fault: str
) -> None:
    scenario = faulty(folder, fault)
    full = put(5_000, "heater_output", 100, "%")

    def warmth(made: Scenario, *script: Timed) -> float:
        return value(run(made, *script), "temperature", 290_000)

    assert warmth(scenario, full) == warmth(scenario)
    assert warmth(scenario, full, *right(fault)) > warmth(scenario) + 0.05


def test_a_cold_heater_on_its_probe_does_not_warm_either(folder: Path) -> None:
    fault = "heater_failed"
    scenario = faulty(folder, fault)
    on_probe = [
        put(5_000, "heater_mode", "skin probe"),
        did(6_000, "temperature_probe", "start"),
    ]
    cold = value(run(scenario), "temperature", 290_000)
    assert value(run(scenario, *on_probe), "temperature", 290_000) == cold
    assert value(run(scenario, *on_probe, *right(fault)), "temperature", 290_000) > cold


def test_a_fault_that_is_not_planted_leaves_nothing_in_a_scenario() -> None:
    named = [
        leaf
        for state in shipped(TERM).states.values()
        for shown in state.shows.values()
        if isinstance(shown, Course)
        for adjust in shown.adjust
        if adjust.condition is not None
        for leaf in leaves(adjust.condition)
        if isinstance(leaf, FaultIs)
    ]
    assert named == []
