"""The sentences that a trainee reads: specific, kind, with units, on the team's clock."""

from __future__ import annotations

import pytest

from simengine.quantities.wording import instant
from tests.scoring.case import card, item

END = "400 closed finished"
PUMP = "- {expect: pump, from: birth, ideal: 60 s, latest: 90 s}"


def said(key: str, record: str) -> str:
    return item(key, f"{record}\n{END}").sentence


def test_a_late_start_is_told_with_both_times() -> None:
    assert said(PUMP, "5 birth\n83 start pump") == (
        "You started to pump at 1:18, 18 s late: care asks for it within 60 s of birth."
    )


def test_on_time_is_told_by_how_well() -> None:
    assert said(PUMP, "0 birth\n30 start pump") == (
        "You started to pump at 0:30, well within the 60 s."
    )
    assert said(PUMP, "0 birth\n31 start pump") == (
        "You started to pump at 0:31, within the 60 s that care asks for."
    )


def test_a_miss_is_what_the_record_does_not_hold() -> None:
    assert said(PUMP, "0 birth") == (
        "There is no entry of pumping; care asks for it within 60 s of birth."
    )


def test_running_already() -> None:
    assert said(PUMP, "10 start pump\n50 birth") == "You had already started to pump by 0:00."


def test_another_way_says_which_and_what_counts() -> None:
    assert said(PUMP, "0 birth\n20 start pump how=ordered") == (
        "Pumping: ordered at 0:20, and it counts once it is done or simulated; care asks for it "
        "within 60 s of birth."
    )


def test_off_names_the_value_read_and_the_value_asked() -> None:
    key = (
        "- {expect: pump, from: birth, ideal: 60 s, "
        "settings: {pressure: 30 cmH2O, oxygen: 21 to 30 %}}"
    )
    assert said(key, "0 birth\n30 start pump pressure=36") == (
        "You started to pump at 0:30, well within the 60 s. "
        "Pressure was 36 cmH2O; care asks for 30 cmH2O (give or take 4 cmH2O). "
        "Oxygen was not written down; care asks for 21 to 30 %."
    )


def test_early_says_from_when() -> None:
    key = "- {expect: call, from: birth, not_before: 30 s, ideal: 60 s}"
    assert said(key, "0 birth\n20 done call") == (
        "You called at 0:20, too soon: care asks for it from 0:30 on, and by 1:00."
    )


def test_a_time_before_time_zero() -> None:
    key = "- {expect: call, from: start, ideal: 10 s}"
    assert said(key, "5 done call\n30 birth") == (
        "You called at 0:25 before birth, well within the 10 s."
    )


def test_a_time_just_beyond_the_limit_says_so() -> None:
    assert said(PUMP, "0 birth\n60.4 start pump") == (
        "You started to pump at 1:00, just late: care asks for it within 60 s of birth."
    )


def test_from_a_state_and_from_an_action() -> None:
    state = "- {expect: call, from: {state: low}, ideal: 15 s}"
    assert said(state, "0 birth\n100 state low\n120 done call") == (
        "You called at 2:00, 5 s late: care asks for it within 15 s of “Low”."
    )
    action = "- {expect: call, from: {action: pump}, ideal: 15 s}"
    assert said(action, "0 birth\n100 start pump\n120 done call").endswith(
        "care asks for it within 15 s of pumping."
    )


def test_respond_says_from_when_it_was_asked() -> None:
    key = (
        "- {respond: press, whenever: {observed: {colour: pale}}, lasting: 30 s, ideal: 15 s, "
        "latest: 45 s}"
    )
    assert said(key, "0 birth\n100 state low\n160 start press") == (
        "You started to press at 2:40, 15 s late: care asks for it within 15 s of 2:10, when the "
        "need was there."
    )


def test_a_change_of_a_setting() -> None:
    key = "- {expect: {set: pressure, to: at most 18 cmH2O}, from: birth, ideal: 60 s}"
    assert said(key, "0 birth\n70 set pressure=15") == (
        "You set pressure to 15 cmH2O at 1:10, 10 s late: care asks for pressure to be at most "
        "18 cmH2O within 60 s of birth."
    )
    lower = "- {expect: {set: pressure, change: lower}, from: birth, ideal: 60 s}"
    assert said(lower, "0 birth") == (
        "There is no entry of a change of pressure; care asks for pressure to be lowered within "
        "60 s of birth."
    )


def test_a_fault() -> None:
    key = "- {expect: {find: leak}, ideal: 60 s}"
    assert said(key, "30 fault leak found") == "You found “A leak” at 0:30, well within the 60 s."
    assert said(key, "") == (
        "There is no entry that “A leak” was found; care asks for it within 60 s of the start."
    )


def test_several_times_point_to_the_one_to_look_at() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 10 s, latest: 20 s, each: true}"
    record = "10 state low\n15 done call\n50 state idle\n100 state low\n115 done call"
    assert said(key, record).startswith(
        "This came up twice; met in full: once. The one to look at: You called at 1:55, 5 s late"
    )


def test_repeat_and_keep_tell_their_time() -> None:
    look = "- {repeat: look, every: 30 s, grace: 15 s, during: [low]}"
    assert said(look, "100 state low\n120 done look\n200 done look\n300 state idle") == (
        "You looked twice, but for 90 s of 3 min the last time was more than 45 s ago; care asks "
        "for it every 30 s."
    )
    assert said(look, "100 state low\n120 done look\n160 done look\n200 state idle") == (
        "You looked twice, never more than 45 s apart."
    )
    keep = "- {keep: {doing: pump}, during: [low], share: 90 %, title: Pump kept going}"
    assert said(keep, "100 state low\n100 start pump\n133 stop pump\n200 state idle") == (
        "For 33 s of 100 s “Pump kept going” held; care asks for 90 s or more."
    )


def test_only_all_of_the_time_reads_as_all_of_it() -> None:
    keep = "- {keep: {doing: pump}, title: Pump kept going}"
    assert said(keep, "0.001 start pump").startswith(
        "For 6 min 39 s of 6 min 40 s “Pump kept going” held; "
    )
    assert said(keep, "0 start pump") == "Throughout, “Pump kept going” held."


def test_order_and_avoid() -> None:
    assert said("- {order: [look, call]}", "0 birth\n20 done call\n30 done look") == (
        "You began with calling at 0:20, then looking at 0:30. "
        "Care asks for this order: looking, then calling."
    )
    assert said("- {order: [look, call]}", "0 birth\n20 done look\n30 done call") == (
        "You kept the order: looking at 0:20, then calling at 0:30."
    )
    assert said("- {avoid: swap}", "0 birth\n20 done swap\n65 done swap") == (
        "Not advised here: you swapped at 0:20 and you swapped at 1:05."
    )
    assert said("- {avoid: swap}", "0 birth") == "Not advised here, and it did not happen."


def test_a_cue_is_told() -> None:
    assert said(PUMP, "0 birth\n10 cue pump\n20 start pump").endswith("A cue had come first.")


@pytest.mark.parametrize(
    ("record", "words"),
    [
        ("0 birth\n10 unobserved expect:pump", "Marked as not observed"),
        ("0 birth\n10 unavailable action=pump", "The kit for it was not there"),
        ("5 done look", "The session did not come to the point"),
    ],
)
def test_not_reached_says_why(record: str, words: str) -> None:
    assert said(PUMP, record).startswith(words)


def test_a_tenfold_slip_asks_and_does_not_accuse() -> None:
    key = "- {expect: give, from: birth, ideal: 60 s, dose: 20 to 30 mcg/kg}"
    found = card(key, f"0 birth\n30 done give volume=5_mL strength=0.1_mg/mL\n{END}")
    # 5 mL x 0.1 mg/mL = 0.5 mg = 500 mcg; / 2 kg = 250 mcg/kg
    assert found.slips[0].words == (
        "Give at 0:30: the dose written down was 5 mL, which is 250 mcg/kg, about ten times the "
        "20 to 30 mcg/kg that care asks for. Was it given so, or written down so?"
    )
    assert "That is about ten times what is asked for." in found.items[0].sentence


def test_times_are_those_that_a_clock_shows() -> None:
    assert instant(59_999, "") == "0:59"
    assert instant(61_250, "", unlike=61_000) == "1:01.2"
    assert instant(40_000 - 60_000, "birth") == "0:20 before birth"
    assert instant(75_000, "") == "1:15"


def test_no_sentence_blames() -> None:
    key = PUMP + "\n- {repeat: look, every: 30 s}\n- {keep: {doing: pump}}\n- {order: [look, call]}"
    for record in ("0 birth", "0 birth\n20 done call", "0 birth\n200 start pump"):
        for one in card(key, f"{record}\n{END}").items:
            for word in ("poor", "fail", "wrong", "bad", "forgot", "should"):
                assert word not in one.sentence.lower()
