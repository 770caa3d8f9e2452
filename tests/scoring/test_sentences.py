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
        "Pump began at 1:18. The marking guide asks for it by 1:00 after birth, "
        "and gives part of the credit until 1:30."
    )


def test_on_time_is_told_without_the_latest() -> None:
    assert said(PUMP, "0 birth\n30 start pump") == (
        "Pump began at 0:30. The marking guide asks for it by 1:00 after birth."
    )


def test_a_miss_is_what_the_record_does_not_hold() -> None:
    assert said(PUMP, "0 birth") == (
        "Pump: not in the record. The marking guide asks for it by 1:00 after birth."
    )


def test_running_already() -> None:
    assert said(PUMP, "10 start pump\n50 birth").startswith("Pump: already running at 0:00.")


def test_another_way_says_which_and_what_counts() -> None:
    assert said(PUMP, "0 birth\n20 start pump how=ordered") == (
        "Pump: ordered at 0:20, which is not one of the ways that count here (done or "
        "simulated). The marking guide asks for it by 1:00 after birth."
    )


def test_off_names_the_value_read_and_the_value_asked() -> None:
    key = (
        "- {expect: pump, from: birth, ideal: 60 s, "
        "settings: {pressure: 30 cmH2O, oxygen: 21 to 30 %}}"
    )
    assert said(key, "0 birth\n30 start pump pressure=36") == (
        "Pump began at 0:30. The marking guide asks for it by 1:00 after birth. "
        "Pressure was 36 cmH2O; the marking guide asks for 30 cmH2O (give or take 4 cmH2O). "
        "Oxygen was not recorded; the marking guide asks for 21 to 30 %."
    )


def test_early_says_from_when() -> None:
    key = "- {expect: call, from: birth, not_before: 30 s, ideal: 60 s}"
    assert said(key, "0 birth\n20 done call") == (
        "Call: done at 0:20. The marking guide asks for it from 0:30 on, and by 1:00."
    )


def test_a_time_before_time_zero() -> None:
    key = "- {expect: call, from: start, ideal: 10 s}"
    assert said(key, "5 done call\n30 birth") == (
        "Call: done at 0:25 before birth. The marking guide asks for it within 10 s of the "
        "start, by 0:20 before birth."
    )


def test_a_time_just_beyond_the_limit_does_not_read_like_the_limit() -> None:
    assert said(PUMP, "0 birth\n60.4 start pump").startswith("Pump began at 1:00.4.")
    assert said(PUMP, "0 birth\n60.004 start pump").startswith("Pump began at 1:00.004.")


def test_from_a_state_and_from_an_action() -> None:
    state = "- {expect: call, from: {state: low}, ideal: 15 s}"
    assert said(state, "0 birth\n100 state low\n110 done call") == (
        "Call: done at 1:50. The marking guide asks for it within 15 s of “Low” beginning, by 1:55."
    )
    action = "- {expect: call, from: {action: pump}, ideal: 15 s}"
    assert "within 15 s of pump, by 1:55." in said(action, "0 birth\n100 start pump")


def test_respond_says_from_when_it_was_asked() -> None:
    key = (
        "- {respond: press, whenever: {observed: {colour: pale}}, lasting: 30 s, ideal: 15 s, "
        "latest: 45 s}"
    )
    assert said(key, "0 birth\n100 state low\n160 start press") == (
        "Press began at 2:40. It was asked for from 2:10; the marking guide asks for it within "
        "15 s of that, and gives part of the credit until 2:55."
    )


def test_a_change_of_a_setting() -> None:
    key = "- {expect: {set: pressure, to: at most 18 cmH2O}, from: birth, ideal: 60 s}"
    assert said(key, "0 birth\n30 set pressure=15") == (
        "Pressure was set to 15 cmH2O at 0:30. The marking guide asks for pressure at most "
        "18 cmH2O by 1:00 after birth."
    )
    lower = "- {expect: {set: pressure, change: lower}, from: birth, ideal: 60 s}"
    assert said(lower, "0 birth") == (
        "A change of pressure: not in the record. The marking guide asks for pressure to be "
        "lower by 2 cmH2O at least by 1:00 after birth."
    )


def test_a_fault() -> None:
    key = "- {expect: {find: leak}, ideal: 60 s}"
    assert said(key, "30 fault leak found") == (
        "“A leak” was found at 0:30. The marking guide asks for it within 60 s of the start, "
        "by 1:00."
    )
    assert said(key, "") == (
        "The record does not say that “A leak” was found. The marking guide asks for it within "
        "60 s of the start, by 1:00."
    )


def test_several_times_point_to_the_one_to_look_at() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 10 s, latest: 20 s, each: true}"
    record = "10 state low\n15 done call\n50 state idle\n100 state low\n115 done call"
    assert said(key, record).startswith(
        "This was asked for twice, and met in full once. The one to look at: Call: done at 1:55."
    )


def test_repeat_and_keep_tell_their_share() -> None:
    look = "- {repeat: look, every: 30 s, grace: 15 s, during: [low]}"
    assert said(look, "100 state low\n120 done look\n200 done look\n300 state idle") == (
        "Look: up to date for 50 % of the 3 min that count, twice in the session. "
        "The marking guide asks for it every 30 s, with 15 s of grace."
    )
    keep = "- {keep: {doing: pump}, during: [low], share: 90 %, title: Pump kept going}"
    assert said(keep, "100 state low\n100 start pump\n133 stop pump\n200 state idle") == (
        "Pump kept going: so for 33 % of the 100 s. "
        "The marking guide asks for it for 90 % of the time."
    )


def test_only_all_of_the_time_reads_as_all_of_it() -> None:
    keep = "- {keep: {doing: pump}, title: Pump kept going}"
    assert "for 99 % of" in said(keep, "0.001 start pump")


def test_order_and_avoid() -> None:
    assert said("- {order: [look, call]}", "0 birth\n20 done call\n30 done look") == (
        "In the record first: look at 0:30, call at 0:20. "
        "The marking guide asks for this order: look, then call."
    )
    assert said("- {avoid: swap}", "0 birth\n20 done swap\n65 done swap") == (
        "Not advised here; in the record twice, at 0:20, 1:05. It takes 10 % from the total."
    )
    assert said("- {avoid: swap}", "0 birth") == "Not advised here, and it did not occur."


def test_a_cue_is_told() -> None:
    assert said(PUMP, "0 birth\n10 cue pump\n20 start pump").endswith("It was done after a cue.")


@pytest.mark.parametrize(
    ("record", "words"),
    [
        ("0 birth\n10 unobserved expect:pump", "Marked as not observed"),
        ("0 birth\n10 unavailable action=pump", "The equipment for it was not there"),
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
        "Give at 0:30: the dose recorded was 5 mL, which is 250 mcg/kg, about ten times the "
        "20 to 30 mcg/kg that is asked. Was it given so, or written down so?"
    )
    assert "That is about ten times what is asked." in found.items[0].sentence


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
