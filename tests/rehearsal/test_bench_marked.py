"""A cot prepared by one pair of hands is marked by the same guide as any other session."""

from __future__ import annotations

import pytest

from simengine.scoring import score
from simengine.scoring.card import ScoreCard
from tests import shipped
from tests.rehearsal.worked_cot import WorkedCot, bench_for


def does(hands: WorkedCot, action: str) -> None:
    """What is no part of the cot: done, or said, by whoever plays."""
    hands.wait(1)
    hands.live.record("action", {"action": action, "phase": "done"}, noted_ms=hands.now, by="me")


def card(hands: WorkedCot) -> ScoreCard:
    hands.live.run(hands.now + 600_000)
    return score(hands.live.session(), redraws=0)


def test_a_term_cot_gone_through_with_care_by_hand_misses_nothing() -> None:
    hands = WorkedCot(bench_for(shipped.scenario("cot-term")))
    hands.wait(5)
    hands.start_clock()
    for action in ("hand_hygiene", "gloves", "name_roles"):
        does(hands, action)
    hands.do("heater", "look")
    hands.do("heater", "heater_mode", "manual")
    hands.do("heater", "heater_output", 100)
    hands.do("light", "light", "on")
    hands.do("oxygen_cylinder", "look")
    hands.press("oxygen_cylinder", "Change the oxygen cylinder")
    hands.do("air_cylinder", "look")
    hands.do("linen", "lay")
    hands.do("surface", "look")
    hands.do("clock", "look")
    hands.press("clock", "Change its battery or fetch another clock")
    hands.do("blender", "oxygen", 30)
    hands.do("flow", "gas_flow", 8)
    hands.do("t_piece", "outlet", True)
    # The manometer does not come up: it leaks.
    assert hands.do("t_piece", "cap", True).words == "The manometer stands at 12 cmH2O."
    hands.do("t_piece", "not_right")
    hands.press("t_piece", "Change the T-piece")
    assert hands.do("t_piece", "cap", True).words == "The manometer stands at 40 cmH2O."
    hands.do("pressures", "peak_pressure", -10)
    hands.do("relief", "try_relief")
    hands.do("relief", "relief_limit", -25)
    hands.do("relief", "try_relief")
    for closed in (False, True):
        hands.do("t_piece", "cap", closed)
    for hold in ("cap", "outlet"):
        hands.do("t_piece", hold, False)
    hands.do("suction", "suction_running", "On")
    hands.do("suction", "tubing", True)
    hands.do("suction", "not_right")
    hands.do("suction", "suction_pressure", -8)
    for closed in (False, True):
        hands.do("suction", "tubing", closed)
    hands.do("suction", "suction_running", "Off")
    hands.do("flow", "purge")
    for part, label in {
        "bag": "Fetch a self-inflating bag",
        "catheters": "Fetch a wide-bore suction catheter",
        "masks": "",
        "laryngeal_mask": "",
        "tubes": "",
        "co2_detector": "",
        "oximeter": "Fetch a sensor",
        "ecg": "",
        "access_tray": "",
    }.items():
        hands.do(part, "look")
        if label:
            hands.press(part, label)
    does(hands, "agree_cord_plan")
    hands.wait(60)
    does(hands, "say_cot_ready")
    marked = card(hands)
    assert marked.total == 1.0
    assert not marked.unsafe


def test_a_cot_that_is_looked_at_and_left_is_marked_as_left() -> None:
    hands = WorkedCot(bench_for(shipped.scenario("cot-term")))
    hands.start_clock()
    for part in hands.parts:
        hands.do(part, "look")
    hands.wait(120)
    does(hands, "say_cot_ready")
    verdicts = {item.id: item.verdict for item in card(hands).items}
    assert {verdicts[item] for item in ("bag", "cylinder", "t-piece", "dial")} == {"missed"}


@pytest.mark.parametrize("name", ["cot-preterm", "cot-after-use", "cot-term"])
def test_everything_that_a_cot_scenario_plants_can_be_put_right_by_hand(name: str) -> None:
    hands = WorkedCot(bench_for(shipped.scenario(name)))
    hands.start_clock()
    for part in hands.parts.values():
        for handle in part.handles:
            if handle.name.startswith("put_right"):
                hands.do(part.name, handle.name)
            elif handle.words == ("On", "Off"):
                hands.do(part.name, handle.name, "Off")
    hands.do("flow", "gas_flow", 8)
    for setting, dial in (
        ("relief_limit", "relief"),
        ("peak_pressure", "pressures"),
        ("end_pressure", "pressures"),
    ):
        _bring_back(hands, dial, setting)
    _bring_back(hands, "blender", "oxygen")
    hands.do("heater", "heater_mode", "manual")
    hands.do("flow", "purge")
    _bring_back(hands, "suction", "suction_pressure")
    faults = hands.bench.scenario.start.faults
    assert {fault: hands.fault(fault) for fault in faults} == dict.fromkeys(faults, "mended")


def _bring_back(hands: WorkedCot, part: str, setting: str) -> None:
    """Turn a dial down from where it stands until no fault that it would mend is left."""
    handle = next(each for each in hands.parts[part].handles if each.name == setting)
    assert handle.scale is not None
    value = handle.scale.most

    def left() -> bool:
        return any(
            getattr(fault.mended_by, "setting", None) == setting and hands.fault(name) != "mended"
            for name, fault in hands.bench.scenario.start.faults.items()
        )

    for turn in range(200):
        if not left():
            return
        if handle.kind == "turn":
            hands.do(part, setting, (-1 if turn < 60 else 1) * handle.scale.step)
        else:
            hands.do(part, setting, value - turn * handle.scale.step)
