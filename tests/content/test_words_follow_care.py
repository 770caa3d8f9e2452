"""Words that the baby shows follow the care: the chest, and breathing on CPAP.

That a chest does not rise while no breath goes in is common practice, no source; from which
pressure on none goes in is a teaching choice of the physiology.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from simengine.scenario.model import Scenario, State, Word
from simengine.session.full_speed import Timed, play
from simengine.session.record import Session
from tests.content.test_faults_act import faulty
from tests.content.what_is_shipped import scenario as shipped
from tests.session.small import WALL, birth, did, opened, put

BREATHS = {
    "peak_pressure": {"value": 30, "unit": "cmH2O"},
    "end_pressure": {"value": 5, "unit": "cmH2O"},
    "gas_flow": {"value": 8, "unit": "L/min"},
    "ventilation_rate": {"value": 30, "unit": "/min"},
}


def still(scenario: Scenario) -> Scenario:
    """A baby who does not breathe, and whose chest rises as long as the care lets it."""
    named = next(state for state in scenario.states.values() if "chest" in state.shows)
    shows = {**named.shows, "breathing": "absent"}
    chest = next(
        state.shows["chest"]
        for state in scenario.states.values()
        if isinstance(state.shows.get("chest"), Word)
    )
    assert isinstance(chest, Word)
    shows["chest"] = replace(chest, to="good")
    alone = State("alone", "Alone", shows, ())
    return replace(scenario, states={"alone": alone}, start=replace(scenario.start, state="alone"))


def run(scenario: Scenario, *script: Timed) -> Session:
    return play(
        scenario,
        [birth(1_000), did(10_000, "head_neutral"), *script],
        opened=opened("rehearsal"),
        wall=WALL,
        until_ms=100_000,
    )


def chest(session: Session, at_ms: int) -> str:
    return [word for since, word in session.words["chest"] if since <= at_ms][-1]


def ventilated(**otherwise: float | str) -> Timed:
    given = {name: dict(reading) for name, reading in BREATHS.items()}
    for name, value in otherwise.items():
        given.setdefault(name, {})["value"] = value
    return did(20_000, "mask_ventilation", "start", settings=given)


def test_the_chest_rises_while_breaths_go_in_and_not_before_or_after() -> None:
    session = run(
        still(shipped("term-responds")), ventilated(), did(60_000, "mask_ventilation", "stop")
    )
    assert [chest(session, at) for at in (15_000, 30_000, 70_000)] == ["none", "good", "none"]


@pytest.mark.parametrize(
    "otherwise",
    [{"peak_pressure": 12.0}, {"gas_flow": 0.0}, {"mask_size": "too small"}],
    ids=["pressure too low", "no gas", "mask too small"],
)
def test_breaths_that_do_not_go_in_do_not_move_it(otherwise: dict[str, float | str]) -> None:
    assert chest(run(still(shipped("term-responds")), ventilated(**otherwise)), 50_000) == "none"


def test_a_pressure_put_right_moves_it_at_once() -> None:
    session = run(
        still(shipped("term-responds")),
        ventilated(peak_pressure=12.0),
        put(50_000, "peak_pressure", 30, "cmH2O"),
    )
    assert (chest(session, 49_999), chest(session, 50_000)) == ("none", "good")


@pytest.mark.parametrize("fault", ["t_piece_leaks", "t_piece_outlet_blocked"])
def test_a_fault_of_the_cot_stills_it_until_it_is_put_right(fault: str, tmp_path: Path) -> None:
    mended = Timed(60_000, "fault", {"fault": fault, "status": "mended"}, by="facilitator")
    session = run(still(faulty(tmp_path, fault)), ventilated(), mended)
    assert (chest(session, 50_000), chest(session, 60_000)) == ("none", "good")


def test_a_baby_who_breathes_moves_the_chest_alone() -> None:
    scenario = still(shipped("term-responds"))
    alone = scenario.states["alone"]
    breathing = replace(alone, shows={**alone.shows, "breathing": "regular"})
    session = run(replace(scenario, states={"alone": breathing}))
    assert chest(session, 50_000) == "good"


def test_a_baby_on_cpap_without_pressure_works_for_each_breath() -> None:
    scenario = load_scenario(scenarios_dir() / "term-vigorous.yaml")
    breathing = next(
        state
        for state in scenario.states.values()
        if isinstance(state.shows.get("breathing"), Word)
    )
    alone = replace(breathing, name="alone", next=())
    scenario = replace(
        scenario, states={"alone": alone}, start=replace(scenario.start, state="alone")
    )
    cpap = {"end_pressure": {"value": 0, "unit": "cmH2O"}}
    session = run(
        scenario,
        did(20_000, "cpap", "start", settings=cpap),
        put(50_000, "end_pressure", 5, "cmH2O"),
    )
    own = session.words["breathing"][0][1]
    assert session.words["breathing"][1:] == ((20_000, "laboured"), (50_000, own))


def glucose(of: float) -> Timed:
    amount, route = {"value": of, "unit": "mL/kg"}, {"value": "umbilical_vein"}
    return did(20_000, "glucose", dose={"amount": amount, "route": route})


@pytest.mark.parametrize(("given", "reads"), [(2.5, "low"), (5.0, "low"), (25.0, "high")])
def test_ten_times_the_glucose_takes_it_above_the_range(given: float, reads: str) -> None:
    """RCUK 2021: 2.5 mL/kg (from memory). That twice as much is not yet too much is a teaching
    choice: the bound is that of what is unsafe in any baby.
    """
    scenario = shipped("ward-collapse", "ercnls-2021")
    collapsed = scenario.states["collapsed"]
    assert isinstance(collapsed.shows["blood_glucose"], Word)
    alone = replace(collapsed, name="alone", next=())
    scenario = replace(
        scenario, states={"alone": alone}, start=replace(scenario.start, state="alone")
    )
    session = play(
        scenario, [Timed(1_000, "event", {"name": "arrival"}, by="facilitator"), glucose(given)],
        opened=opened("rehearsal"), wall=WALL, until_ms=60_000,
    )  # fmt: skip
    assert session.words["blood_glucose"][-1][1] == reads


def test_a_state_may_keep_its_word(tmp_path: Path) -> None:
    text = (scenarios_dir() / "term-responds.yaml").read_text("utf-8")
    kept = text.replace("    shows:\n", "    keeps: [chest]\n    shows:\n")
    assert kept != text
    file = tmp_path / "term-responds.yaml"
    file.write_text(kept, "utf-8")
    states = load_scenario(file).states.values()
    words = [state.shows["chest"] for state in states if state.keeps and "chest" in state.shows]
    assert words
    assert all(isinstance(word, str) for word in words)
    changed = [state.shows["chest"] for state in shipped("term-responds").states.values()
        if "chest" in state.shows]  # fmt: skip
    assert all(isinstance(word, Word) for word in changed)
