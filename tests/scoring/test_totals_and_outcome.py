"""Totals, parts, outcome and the order of verdicts, worked by hand."""

from __future__ import annotations

from typing import Any

import pytest

from tests.scoring.case import card

KEY = """
- {expect: call, from: birth, ideal: 60 s, latest: 90 s, importance: essential, objective: first}
- {expect: pump, from: birth, ideal: 60 s, importance: helpful, objective: second}
- {expect: swap, from: {state: high}, ideal: 60 s}
"""
STANDARD = (
    "{pass: 70 %, standard: {method: Angoff, panel: three invented judges, date: '2026-01-31'}}"
)
SHOWS = STANDARD.replace("standard: {", "standard: {demonstration: true, ")
SUMMATIVE: dict[str, Any] = {"scoring": STANDARD, "purpose": "summative"}


def test_the_total_is_the_weighted_mean_of_what_applied() -> None:
    # call: (90 - 75) / 30 = 0.5, weight 3; pump 1, weight 1; swap did not apply
    scored = card(KEY, "0 birth\n75 done call\n20 start pump\n400 closed finished")
    assert scored.total == pytest.approx((3 * 0.5 + 1 * 1.0) / 4)


def test_weights_can_be_set() -> None:
    # 1 x 0.5 + 4 x 1 over 5
    scored = card(
        KEY,
        "0 birth\n75 done call\n20 start pump\n400 closed finished",
        scoring="{weights: {essential: 1, helpful: 4}}",
    )
    assert scored.total == pytest.approx(0.9)


def test_without_weight_there_is_no_total() -> None:
    assert card(KEY, "10 done look").total is None


def test_parts_by_phase_and_objective_leave_deductions_out() -> None:
    key = KEY + "- {avoid: look, deduct: 10 %}\n"
    scored = card(key, "0 birth\n75 done call\n20 start pump\n30 done look\n400 closed finished")
    assert scored.total == pytest.approx(0.625 - 0.1)
    assert {name: part.total for name, part in scored.objectives.items()} == {
        "first": 0.5,
        "second": 1.0,
    }
    # call belongs to "after", pump to "during" (the vocabulary's phases)
    assert {name: part.total for name, part in scored.phases.items()} == {
        "after": 0.5,
        "during": 1.0,
    }


def test_the_phase_of_a_setting_is_that_of_the_first_action_that_carries_it() -> None:
    key = """
    - {expect: {set: mode, to: high}, from: start, ideal: 60 s}
    - {expect: {set: strict, to: at most 5 %}, from: start, ideal: 60 s}
    - {expect: {mend: leak}, ideal: 60 s}
    """
    scored = card(key, "100 closed finished")
    # mode is carried by press (during); strict by none (the first phase); leak is mended by swap
    assert [item.phase for item in scored.items] == ["during", "before", "before"]


def test_an_action_that_the_guide_asks_for_comes_first_for_a_settings_phase() -> None:
    # the first action that carries pressure is pump (during), which this guide asks for too
    key = """
    - {expect: {set: pressure, to: 30 cmH2O}, from: start, ideal: 60 s}
    - {expect: pump, from: start, ideal: 60 s}
    """
    assert card(key, "100 closed finished").items[0].phase == "during"


def test_occasions_of_one_item_may_belong_to_several_roles() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 10 s, latest: 20 s, each: true}"
    record = """
    10 state low
    15 done call role=one
    50 state idle
    100 state low
    115 done call role=two
    150 state idle
    200 state low
    400 closed finished
    """
    # three occasions, a third of the weight of 2 each: one: 1; two: 0.5; the team: a miss
    scored = card(key, record)
    assert {name: part.total for name, part in scored.roles.items()} == {
        "one": 1.0,
        "two": 0.5,
        "team": 0.0,
    }
    assert [part.weight for part in scored.roles.values()] == pytest.approx([2 / 3] * 3)


def test_repeat_and_keep_without_a_role_go_to_the_team() -> None:
    key = """
    - {repeat: look, every: 30 s}
    - {keep: {doing: pump}}
    - {keep: {doing: pump}, role: one, id: own}
    """
    scored = card(key, "0 start pump role=two\n10 done look role=two\n100 closed finished")
    assert {name: part.items for name, part in scored.roles.items()} == {"team": 2, "one": 1}


def test_what_was_done_without_a_role_is_nobodys_but_the_teams() -> None:
    # pump has a usual role in the vocabulary; it is not guessed
    scored = card("- {expect: pump, from: birth, ideal: 60 s}", "0 birth\n10 start pump")
    assert set(scored.roles) == {"team"}


def test_achieved() -> None:
    scored = card(KEY, "0 birth\n20 done call\n20 start pump\n400 closed finished", **SUMMATIVE)
    assert (scored.outcome, scored.reasons) == ("achieved", ())


def test_the_total_below_the_pass_mark_is_not_yet_achieved() -> None:
    # 3 x 0.5 + 1 = 2.5 / 4 = 62.5 % < 70 %
    scored = card(KEY, "0 birth\n75 done call\n20 start pump\n400 closed finished", **SUMMATIVE)
    assert scored.outcome == "not yet achieved"
    assert scored.reasons[0] == "The total is 62 %; the standard is 70 % or more."


def test_a_total_just_below_the_pass_mark_does_not_read_like_it() -> None:
    # 3 x 0.6 + 1 = 2.8 / 4 = 70 %, less than 70.4 %: both would read 70 %
    mark = STANDARD.replace("70 %", "70.4 %")
    scored = card(KEY, "0 birth\n72 done call\n20 start pump\n400 closed finished",
                 scoring=mark, purpose="summative")  # fmt: skip
    assert scored.reasons[0] == "The total is 70.0 %; the standard is 70.4 % or more."


def test_an_essential_item_below_the_floor_is_not_yet_achieved() -> None:
    key = KEY.replace("importance: helpful", "importance: essential")
    # call at 76: (90 - 76) / 30 = 0.4667 < 0.5; total (3 x 0.4667 + 3) / 6 = 0.7333 >= 0.7
    scored = card(key, "0 birth\n76 done call\n20 start pump\n400 closed finished", **SUMMATIVE)
    assert scored.total == pytest.approx((14 / 30 + 1) / 2)
    assert scored.outcome == "not yet achieved"
    # at the floor itself: 0.5
    floor = card(key, "0 birth\n75 done call\n20 start pump\n400 closed finished", **SUMMATIVE)
    assert floor.outcome == "achieved"


def test_an_essential_item_done_after_a_cue_is_not_yet_achieved() -> None:
    record = "0 birth\n10 cue call\n20 done call\n20 start pump\n400 closed finished"
    assert card(KEY, record, **SUMMATIVE).outcome == "not yet achieved"
    allowed = KEY.replace("objective: first", "objective: first, cues: allowed")
    assert card(allowed, record, **SUMMATIVE).outcome == "achieved"
    # information is no cue, and a cue for an item that is not essential stops nothing
    helpful = record.replace("cue call", "cue pump")
    assert card(KEY, helpful, **SUMMATIVE).outcome == "achieved"


def test_what_stops_a_pass_stops_it() -> None:
    key = KEY + "- {avoid: look, deduct: 1 %, stops_pass: true}\n"
    record = "0 birth\n20 done call\n20 start pump\n30 done look\n400 closed finished"
    assert card(key, record, **SUMMATIVE).outcome == "not yet achieved"
    mild = KEY + "- {avoid: look, deduct: 1 %}\n"
    assert card(mild, record, **SUMMATIVE).outcome == "achieved"


GOOD = "0 birth\n20 done call\n20 start pump\n"


@pytest.mark.parametrize(
    ("record", "scoring", "purpose", "words"),
    [
        (GOOD + "400 closed finished", STANDARD, "formative", "for learning"),
        (GOOD + "400 closed stopped early", STANDARD, "summative", "stopped early"),
        (GOOD + "400 closed safety stop", STANDARD, "summative", "safety stop"),
        (GOOD + "400 done look", STANDARD, "summative", "does not say"),
        (GOOD + "400 closed finished", "", "summative", "recorded standard"),
        (GOOD + "400 closed finished", SHOWS, "summative", "invented for demonstration"),
        (GOOD + "400 closed finished", SHOWS, "rehearsal", "invented for demonstration"),
        ("400 closed finished", STANDARD, "summative", "No essential item"),
    ],
)
def test_when_no_outcome_is_proposed(record: str, scoring: str, purpose: str, words: str) -> None:
    scored = card(KEY, record, scoring=scoring, purpose=purpose)
    assert scored.outcome is None
    assert words in scored.reasons[0]


def test_a_session_that_was_stopped_says_when() -> None:
    scored = card(KEY, "30 birth\n95 closed stopped early", **SUMMATIVE)
    # 95 - 30 = 65 s on the team's clock
    assert "Stopped at 1:05." in scored.reasons


def test_a_rehearsal_is_judged_like_a_summative_session() -> None:
    scored = card(KEY, GOOD + "400 closed finished", scoring=STANDARD, purpose="rehearsal")
    assert scored.outcome == "achieved"


def test_a_miss_is_provisional_until_the_record_is_confirmed() -> None:
    assert not card(KEY, GOOD + "400 closed finished").confirmed
    assert card(KEY, GOOD + "400 closed finished\n400 confirmed").confirmed
