"""Readings of what the rules leave open that no other file holds; see docs/decisions/scoring.md."""

from __future__ import annotations

import pytest

from tests.scoring.case import card, item

END = "400 closed finished"


def test_keep_and_order_are_left_out_where_kit_that_they_name_was_not_there() -> None:
    keep = "- {keep: {settings: {oxygen: at most 50 %}}}"
    assert item(keep, f"10 unavailable setting=oxygen\n{END}").credit is None
    order = "- {order: [look, call]}"
    assert item(order, f"10 unavailable action=look\n20 done call\n{END}").credit is None


def test_what_was_too_short_is_none_for_conditions_either() -> None:
    key = "- {keep: {doing: pump}}"
    # 2 s of the shortest 3 s: none; 4 s of 100: 0.04
    assert item(key, "10 start pump\n12 stop pump\n100 closed finished").credit == 0.0
    assert item(key, "10 start pump\n14 stop pump\n100 closed finished").credit == 0.04


def test_what_was_done_at_the_very_start_belongs_to_the_first_state() -> None:
    key = "- {avoid: swap, during: [idle]}"
    assert card(key, f"0 done swap\n{END}").deductions[0].occurrences == 1


def test_a_fault_planted_again_is_to_be_found_again() -> None:
    key = "- {expect: {find: leak}, ideal: 30 s, each: true}"
    record = f"20 done swap\n100 fault leak planted\n150 fault leak found\n{END}"
    # planted at 0, put right (so found) at 20; planted at 100, found 50 s later
    assert [occasion.credit for occasion in item(key, record).occasions] == [1.0, 0.0]


def test_done_early_and_closed_before_ideal_is_scored_as_early() -> None:
    key = "- {expect: call, from: birth, not_before: 30 s, ideal: 60 s}"
    assert item(key, "0 birth\n20 done call\n50 closed stopped early").verdict == "early"


def test_said_and_closed_before_ideal_is_not_reached() -> None:
    key = "- {expect: call, from: birth, ideal: 60 s}"
    assert item(key, "0 birth\n20 done call how=said\n50 closed stopped early").credit is None


def test_a_setting_put_right_with_the_action_that_is_the_anchor_has_no_delay() -> None:
    key = "- {expect: {set: oxygen, to: 21 to 30 %}, from: {action: pump}, ideal: 10 s}"
    marked = item(key, f"50 start pump oxygen=25\n{END}")
    assert (marked.credit, marked.occasions[0].delay_ms) == (1.0, 0)


def test_not_of_a_doing_clause_is_needed_to_begin_alone() -> None:
    key = """
    - respond: call
      whenever: {observed: {colour: pale}, not: {doing: pump}}
      lasting: 30 s
      ideal: 15 s
    """
    # begins at 100 without the pump; the pump at 110 does not end it: opens at 130
    marked = item(key, f"100 state low\n110 start pump\n{END}")
    assert marked.occasions[0].opened_ms == 130_000
    # the pump is running when it turns pale: it never begins
    assert item(key, f"90 start pump\n100 state low\n{END}").credit is None


def test_a_cue_for_what_puts_a_fault_right_marks_it() -> None:
    key = "- {expect: {mend: leak}, ideal: 60 s}"
    assert item(key, f"10 cue swap\n20 done swap\n{END}").with_cue
    assert not item(key, f"10 done swap\n20 cue swap\n{END}").with_cue


def test_repeat_and_order_are_marked_with_a_cue_too() -> None:
    look = "- {repeat: look, every: 30 s}"
    assert item(look, f"10 cue look\n20 done look\n{END}").with_cue
    order = "- {order: [look, call]}"
    assert item(order, f"10 cue call\n20 done look\n30 done call\n{END}").with_cue
    assert not item(order, f"10 cue swap\n20 done look\n30 done call\n{END}").with_cue


def test_two_items_of_one_name_get_a_number() -> None:
    key = "- {expect: call, from: birth, ideal: 60 s}\n- {expect: call, from: start, ideal: 9 s}"
    assert [marked.id for marked in card(key, END).items] == ["expect:call", "expect:call:2"]


def test_scenario_time_stands_still_in_a_pause() -> None:
    key = "- {expect: call, from: birth, ideal: 60 s, latest: 90 s}"
    # 30 s of pause between birth and the call at 105: d = 75 s: 0.5
    marked = item(key, f"0 birth\n40 pause\n70 resume\n105 done call\n{END}")
    assert marked.credit == 0.5


def test_a_late_entry_is_scored_at_its_own_time() -> None:
    key = "- {expect: call, from: birth, ideal: 60 s, latest: 90 s}"
    assert item(key, f"0 birth\n50 done call noted=300\n{END}").credit == 1.0


def test_a_correction_of_the_time_is_scored() -> None:
    key = "- {expect: call, from: birth, ideal: 60 s, latest: 90 s}"
    # the call was noted at 75 (0.5) and corrected to 60
    assert item(key, f"0 birth\n75 done call\n{END}").credit == 0.5
    assert item(key, f"0 birth\n75 done call\n{END}\n400 move 2 60").credit == 1.0


@pytest.mark.parametrize(
    ("time", "credit"), [("60", 1.0), ("75", 0.5), ("80", pytest.approx(1 / 3)), ("90", 0.0)]
)
def test_the_clock_of_the_team_is_what_counts(time: str, credit: float) -> None:
    key = "- {expect: call, from: birth, ideal: 60 s, latest: 90 s}"
    later = float(time) + 33
    assert item(key, f"33 birth\n{later} done call\n{END}").credit == credit
