"""The sentences that a trainee reads: specific, kind, with units, on the team's clock."""

from __future__ import annotations

import pytest

from simengine.quantities.formatting import instant
from tests.scoring.case import card, item

END = "400 closed finished"
PUMP = "- {expect: pump, from: birth, ideal: 60 s, latest: 90 s}"


def said(key: str, record: str) -> str:
    return item(key, f"{record}\n{END}").sentence


def test_a_late_start_is_told_with_both_times() -> None:
    assert said(PUMP, "5 birth\n83 start pump") == (
        "You started to pump at 1:18, 18 s late: aim for this within 60 s of birth."
    )


def test_on_time_is_told_by_how_well() -> None:
    assert said(PUMP, "0 birth\n30 start pump") == (
        "You started to pump at 0:30, well within the 60 s."
    )
    assert said(PUMP, "0 birth\n31 start pump") == (
        "You started to pump at 0:31, within the 60 s aimed for."
    )


def test_a_miss_is_what_the_record_does_not_hold() -> None:
    assert said(PUMP, "0 birth") == (
        "There is no record of pumping; aim for this within 60 s of birth."
    )


def test_running_already() -> None:
    assert (
        said(PUMP, "10 start pump\n50 birth")
        == "You started to pump before this was needed, and it was in place at 0:00."
    )


def test_another_way_says_which_and_what_counts() -> None:
    assert said(PUMP, "0 birth\n20 start pump how=ordered") == (
        "Pumping: ordered at 0:20, but it only counts when done or simulated; aim for this "
        "within 60 s of birth."
    )


def test_off_names_the_value_read_and_the_value_asked() -> None:
    key = (
        "- {expect: pump, from: birth, ideal: 60 s, "
        "settings: {pressure: 30 cmH2O, oxygen: 21 to 30 %}}"
    )
    assert said(key, "0 birth\n30 start pump pressure=36") == (
        "You started to pump at 0:30, well within the 60 s. "
        "Pressure was 36 cmH2O; aim for 30 cmH2O (give or take 4 cmH2O). "
        "Oxygen was not recorded; aim for 21 to 30 %."
    )


def test_early_says_from_when() -> None:
    key = "- {expect: call, from: birth, not_before: 30 s, ideal: 60 s}"
    assert said(key, "0 birth\n20 done call") == (
        "You called at 0:20, too soon: aim for this from 0:30 on, and by 1:00."
    )


def test_a_time_before_time_zero() -> None:
    key = "- {expect: call, from: start, ideal: 10 s}"
    assert said(key, "5 done call\n30 birth") == (
        "You called at 0:25 before birth, well within the 10 s."
    )


def test_a_time_just_beyond_the_limit_says_so() -> None:
    assert said(PUMP, "0 birth\n60.4 start pump") == (
        "You started to pump at 1:00, just late: aim for this within 60 s of birth."
    )


def test_from_a_state_and_from_an_action() -> None:
    state = "- {expect: call, from: {state: low}, ideal: 15 s}"
    assert said(state, "0 birth\n100 state low\n120 done call") == (
        "You called at 2:00, 5 s late: aim for this within 15 s of “Low”."
    )
    action = "- {expect: call, from: {action: pump}, ideal: 15 s}"
    assert said(action, "0 birth\n100 start pump\n120 done call").endswith(
        "aim for this within 15 s of the pump."
    )


def test_respond_says_from_when_it_was_asked() -> None:
    key = (
        "- {respond: press, whenever: {observed: {colour: pale}}, lasting: 30 s, ideal: 15 s, "
        "latest: 45 s}"
    )
    assert said(key, "0 birth\n100 state low\n160 start press") == (
        "You started to press at 2:40, 15 s late: aim for this within 15 s of 2:10, "
        "when it was first needed."
    )


def test_a_change_of_a_setting() -> None:
    key = "- {expect: {set: pressure, to: at most 18 cmH2O}, from: birth, ideal: 60 s}"
    assert said(key, "0 birth\n70 set pressure=15") == (
        "You set pressure to 15 cmH2O at 1:10, 10 s late: aim for pressure to be at most "
        "18 cmH2O within 60 s of birth."
    )
    lower = "- {expect: {set: pressure, change: lower}, from: birth, ideal: 60 s}"
    assert said(lower, "0 birth") == (
        "There is no record of a change in pressure; aim for pressure to come down within "
        "60 s of birth."
    )


def test_a_fault() -> None:
    key = "- {expect: {find: leak}, ideal: 60 s}"
    assert said(key, "30 fault leak found") == "You found “A leak” at 0:30, well within the 60 s."
    assert said(key, "") == (
        "There is no record of “A leak” being found; aim for this within 60 s of the start."
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
        "You looked twice, but for 90 s out of 3 min more than 45 s had passed since the last "
        "time; aim for this every 30 s."
    )
    assert said(look, "100 state low\n120 done look\n160 done look\n200 state idle") == (
        "You looked twice, never more than 45 s apart."
    )
    keep = "- {keep: {doing: pump}, during: [low], share: 90 %, title: Pump kept going}"
    assert said(keep, "100 state low\n100 start pump\n133 stop pump\n200 state idle") == (
        "Met for 33 s out of 1 min 40 s; aim for 90 s or more."
    )


def test_only_all_of_the_time_reads_as_all_of_it() -> None:
    keep = "- {keep: {doing: pump}, title: Pump kept going}"
    assert said(keep, "0.001 start pump").startswith("Met for 6 min 39 s out of 6 min 40 s; ")
    assert said(keep, "0 start pump") == "Met throughout."


def test_order_and_avoid() -> None:
    assert said("- {order: [look, call]}", "0 birth\n20 done call\n30 done look") == (
        "You began with calling at 0:20, then looking at 0:30. "
        "The order to aim for: looking, then calling."
    )
    assert said("- {order: [look, call]}", "0 birth\n20 done look\n30 done call") == (
        "You kept to the order: looking at 0:20, then calling at 0:30."
    )
    assert said("- {avoid: swap}", "0 birth\n20 done swap\n65 done swap") == (
        "Not advised here: you swapped at 0:20 and you swapped at 1:05."
    )
    assert said("- {avoid: swap}", "0 birth") == "Not advised here, and it did not happen."


def test_a_cue_is_told() -> None:
    assert said(PUMP, "0 birth\n10 cue pump\n20 start pump").endswith("That was after a cue.")


@pytest.mark.parametrize(
    ("record", "words"),
    [
        ("0 birth\n10 unobserved expect:pump", "Marked as not observed"),
        ("0 birth\n10 unavailable action=pump", "The equipment for it was not there"),
        ("5 done look", "The session never got to the point"),
    ],
)
def test_not_reached_says_why(record: str, words: str) -> None:
    assert said(PUMP, record).startswith(words)


def test_a_tenfold_slip_asks_and_does_not_accuse() -> None:
    key = "- {expect: give, from: birth, ideal: 60 s, dose: 20 to 30 mcg/kg}"
    scored = card(key, f"0 birth\n30 done give volume=5_mL strength=0.1_mg/mL\n{END}")
    # 5 mL x 0.1 mg/mL = 0.5 mg = 500 mcg; / 2 kg = 250 mcg/kg
    assert scored.slips[0].words == (
        "Give at 0:30: the dose recorded was 5 mL, which is 250 mcg/kg, about ten times the "
        "20 to 30 mcg/kg aimed for. Was that the dose given, or a slip in the record?"
    )
    assert "about ten times the 20 to 30 mcg/kg aimed for." in scored.items[0].sentence


def test_times_are_those_that_a_clock_shows() -> None:
    assert instant(59_999, "") == "0:59"
    assert instant(61_250, "", unlike=61_000) == "1:01.2"
    assert instant(40_000 - 60_000, "birth") == "0:20 before birth"
    assert instant(75_000, "") == "1:15"


def test_no_sentence_blames() -> None:
    key = PUMP + "\n- {repeat: look, every: 30 s}\n- {keep: {doing: pump}}\n- {order: [look, call]}"
    for record in ("0 birth", "0 birth\n20 done call", "0 birth\n200 start pump"):
        for marked in card(key, f"{record}\n{END}").items:
            for word in ("poor", "fail", "wrong", "bad", "forgot", "should"):
                assert word not in marked.sentence.lower()
