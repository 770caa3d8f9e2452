"""Volume over its time: what the baby makes of the same amount at another pace.

10 mL/kg over 5 to 10 min is the protocol's (read; publication not noted); from which pace on it is
too fast or too slow, and what that does, are teaching choices of the physiology.
"""

from __future__ import annotations

from functools import cache

from simengine.session.dynamics import curve_at
from simengine.session.full_speed import Timed, play
from simengine.session.record import Session
from tests.content.what_is_shipped import scenario
from tests.session.small import WALL, birth, did, opened

BREATHS = {
    "peak_pressure": {"value": 30, "unit": "cmH2O"},
    "end_pressure": {"value": 5, "unit": "cmH2O"},
    "gas_flow": {"value": 8, "unit": "L/min"},
    "ventilation_rate": {"value": 30, "unit": "/min"},
}


def syringe(at_ms: int, ml_per_kg: float, minutes: float | None) -> Timed:
    dose = {"amount": {"value": ml_per_kg, "unit": "mL/kg"}, "route": {"value": "umbilical_vein"}}
    if minutes is not None:
        dose["over"] = {"value": minutes, "unit": "min"}
    return did(at_ms, "volume", dose=dose)


def given(*syringes: Timed) -> Session:
    """The baby who has lost blood, ventilated from 15 s on, with a way in and this volume."""
    script = [
        birth(1_000),
        did(10_000, "head_neutral"),
        did(15_000, "mask_ventilation", "start", settings=BREATHS),
        did(60_000, "umbilical_access"),
        *syringes,
    ]
    return play(
        scenario("term-blood-loss"),
        script,
        opened=opened("rehearsal"),
        wall=WALL,
        until_ms=240_000,
    )


@cache
def heart_rate(*syringes: tuple[int, float, float | None]) -> float:
    session = given(*(syringe(*dose) for dose in syringes))
    value = curve_at(session.curves["heart_rate"], 240_000)
    assert value is not None
    return value


def test_pushed_in_the_same_volume_helps_less() -> None:
    slowly, pushed = heart_rate((90_000, 10, 10)), heart_rate((90_000, 10, 1))
    assert slowly > 100
    assert 5 < slowly - pushed < 15


def test_within_its_time_all_paces_do_the_same() -> None:
    assert (
        heart_rate((90_000, 10, 5))
        == heart_rate((90_000, 10, 10))
        == heart_rate((90_000, 10, None))
    )


def test_a_part_of_it_may_take_a_part_of_the_time() -> None:
    # 4 mL/kg in 2 min is the pace of 10 mL/kg in 5 min
    parts = ((90_000, 4, 2), (90_001, 3, 1.5), (90_002, 3, 1.5))
    assert heart_rate(*parts) > 100
    assert heart_rate(*parts[:2], (90_002, 3, 0.1)) < heart_rate(*parts)


def test_far_too_slowly_it_comes_to_nothing() -> None:
    # half the slowest pace of the protocol is 20 min
    assert heart_rate((90_000, 10, 19)) > 100
    assert heart_rate((90_000, 10, 21)) < 100


def test_ten_times_the_volume_cures_at_no_pace() -> None:
    assert heart_rate((90_000, 100, 10)) < 100
    assert heart_rate((90_000, 100, 100)) < 100
