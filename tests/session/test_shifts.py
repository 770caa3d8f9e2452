"""Targets that shift and are limited while conditions hold: bends are solved, not sampled.

The small scenario of these tests: without a breath the heart falls from 90 to 40, and once it is
below 60 SpO2 falls with it; from 50 s on SpO2 is kept between 45 and 65 %. Figures are invented.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from scipy.integrate import solve_ivp

from simengine.scenario.loading import load_scenario
from simengine.scenario.model import Scenario
from simengine.session.dynamics import curve_at
from simengine.session.fold import Fold
from simengine.session.full_speed import Timed, play
from simengine.session.live import LiveSession
from simengine.session.record import Session
from simengine.session.verify import verify_log
from tests.session.small import WALL, birth, did, opened, put

FILE = Path(__file__).parents[1] / "scenarios" / "valid" / "small-shifts.yaml"
TAU_MS = 60_000 / math.log(20.0)


@pytest.fixture(scope="module")
def shifts() -> Scenario:
    return load_scenario(FILE)


def run(made: Scenario, *script: Timed) -> Session:
    return play(made, [birth(0), *script], opened=opened(), wall=WALL, until_ms=180_000)


def value(session: Session, observation: str, at_ms: float) -> float:
    value_there = curve_at(session.curves[observation], at_ms)
    assert value_there is not None
    return value_there


def crossing_of_60() -> float:
    """90 to 40 within 60 s: below 60 after tau x ln(50 / 20)."""
    return TAU_MS * math.log(50 / 20)


def test_a_number_that_falls_below_a_threshold_bends_another_at_that_very_ms(
    shifts: Scenario,
) -> None:
    spo2 = run(shifts).curves["spo2"]
    # It is below only after it has passed: the first whole ms after the crossing.
    assert [segment.start_ms for segment in spo2][:2] == [0, math.floor(crossing_of_60()) + 1]
    assert spo2[1].target == 40.0
    assert spo2[1].value == pytest.approx(70 - 10 * 20 / 50, abs=0.01)


def test_a_limit_holds_the_target_once_all_shifts_are_added_up(shifts: Scenario) -> None:
    last = run(shifts).curves["spo2"][-1]
    assert (last.start_ms, last.target) == (50_000, 45.0)


def test_what_is_done_takes_away_what_was_solved_ahead(shifts: Scenario) -> None:
    session = run(shifts, did(10_000, "mask_ventilation", "start"))
    heart, spo2 = session.curves["heart_rate"], session.curves["spo2"]
    assert [(segment.start_ms, segment.target) for segment in heart] == [(0, 40.0), (10_000, 100.0)]
    # Never below 60, so SpO2 goes on, until it is kept at 65 % at most.
    assert [(segment.start_ms, segment.target) for segment in spo2] == [(0, 70.0), (50_000, 65.0)]


def test_a_stop_bends_back_and_solves_ahead_anew(shifts: Scenario) -> None:
    session = run(
        shifts, did(10_000, "mask_ventilation", "start"), did(20_000, "mask_ventilation", "stop")
    )
    at_stop = value(session, "heart_rate", 20_000)
    below = 20_000 + TAU_MS * math.log((at_stop - 40) / 20)
    starts = [segment.start_ms for segment in session.curves["spo2"]]
    assert math.floor(below) + 1 in starts


def test_a_setting_shifts_in_proportion_only_while_the_condition_holds(shifts: Scenario) -> None:
    without = run(shifts, put(5_000, "oxygen", 80, "%"))
    assert without.curves["spo2"][0].target == 70.0
    during = run(
        shifts, did(4_000, "mask_ventilation", "start"), put(5_000, "oxygen", 80, "%")
    ).curves["spo2"]
    assert (during[1].start_ms, during[1].target) == (5_000, 75.0)


@pytest.mark.parametrize(
    ("mcg_per_kg", "to"), [(2.0, 40.0), (20.0, 60.0), (200.0, 40.0)], ids=["tenth", "right", "ten"]
)
def test_a_drug_acts_by_its_dose(shifts: Scenario, mcg_per_kg: float, to: float) -> None:
    """The protocol of this test has 10 to 30 mcg/kg; beyond twice that the heart is held at 45."""
    dose = {"amount": {"value": mcg_per_kg, "unit": "mcg/kg"}, "route": {"value": "vein"}}
    session = run(shifts, did(5_000, "adrenaline", dose=dose))
    assert session.curves["heart_rate"][-1].target == to


def test_an_amount_that_nobody_wrote_down_acts_as_the_protocol_has_it(shifts: Scenario) -> None:
    session = run(shifts, did(5_000, "adrenaline", dose={"route": {"value": "vein"}}))
    assert session.curves["heart_rate"][-1].target == 60.0


def test_the_solver_agrees_with_a_general_purpose_integrator(shifts: Scenario) -> None:
    """scipy's solve_ivp on the same equations, its events finding the crossings by itself."""
    session = run(shifts)

    def slope(at_ms: float, now: Any, spo2_to: float) -> list[float]:
        heart, spo2 = now
        return [(40.0 - heart) / TAU_MS, (spo2_to - spo2) / TAU_MS]

    below: Callable[..., float] = lambda at_ms, now, to: now[0] - 60.0  # noqa: E731
    below.terminal = True  # type: ignore[attr-defined]
    first = solve_ivp(
        slope, (0, 180_000), [90.0, 60.0], args=(70.0,), events=below, rtol=1e-11, atol=1e-11
    )
    assert first.t_events is not None
    crossed = first.t_events[0][0]
    assert crossed == pytest.approx(session.curves["spo2"][1].start_ms, abs=1.0)
    second = solve_ivp(
        slope, (crossed, 50_000), first.y[:, -1], args=(40.0,), rtol=1e-11, atol=1e-11
    )
    third = solve_ivp(
        slope, (50_000, 170_000), second.y[:, -1], args=(45.0,), rtol=1e-11, atol=1e-11
    )
    for at_ms, (heart, spo2) in (
        (50_000, second.y[:, -1]),
        (170_000, third.y[:, -1]),
    ):
        assert value(session, "heart_rate", at_ms) == pytest.approx(heart, abs=1e-6)
        # The crossing is rounded up to the ms.
        assert value(session, "spo2", at_ms) == pytest.approx(spo2, abs=0.01)


def test_a_replay_of_the_log_gives_the_same_curves_and_verifies(shifts: Scenario) -> None:
    session = run(
        shifts, did(10_000, "mask_ventilation", "start"), did(20_000, "mask_ventilation", "stop")
    )
    again = Fold(shifts)
    for event in session.events:
        again.feed(event)
    assert again.session().curves == session.curves


def test_a_log_of_such_a_session_verifies(shifts: Scenario) -> None:
    live = LiveSession(shifts)
    live.record("opened", opened(), noted_ms=0, by="a", wall=WALL)
    live.record("event", {"name": "birth"}, noted_ms=0, by="a")
    start = {"action": "mask_ventilation", "phase": "start"}
    live.record("action", start, noted_ms=30_000, at_ms=25_000, by="a")
    live.run(200_000)
    assert live.closed
    assert verify_log(shifts, live.events) is None


def test_a_closed_session_holds_nothing_of_what_was_still_to_come(shifts: Scenario) -> None:
    live = LiveSession(shifts)
    live.record("opened", opened(), noted_ms=0, by="a", wall=WALL)
    live.record("event", {"name": "birth"}, noted_ms=0, by="a")
    assert live.session().curves["spo2"][-1].start_ms > 1_000
    live.record("closed", {"why": "stopped early"}, noted_ms=1_000, by="a")
    assert [segment.start_ms for segment in live.session().curves["spo2"]] == [0]
