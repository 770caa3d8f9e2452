"""``expect``, worked by hand: anchors, time credit, what counts as done, what is not reached."""

from __future__ import annotations

import pytest

from simengine.scoring.occasion import time_credit
from tests.scoring.case import card, item

PUMP = "- {expect: pump, from: birth, ideal: 60 s, latest: 90 s}"
CALL = "- {expect: call, from: birth, ideal: 60 s, latest: 90 s}"
LATE_END = "400 closed finished"


def test_credit_falls_in_a_line_from_ideal_to_latest() -> None:
    # d = 75 - 0 = 75 s: (90 - 75) / (90 - 60) = 0.5
    marked = item(PUMP, f"0 birth\n75 start pump\n{LATE_END}")
    assert (marked.credit, marked.verdict) == (0.5, "late")


def test_ideal_itself_is_on_time_and_the_ms_after_it_is_late() -> None:
    assert item(PUMP, f"0 birth\n60 start pump\n{LATE_END}").verdict == "on time"
    # (90 000 - 60 001) / 30 000 = 0.99996…
    late = item(PUMP, f"0 birth\n60.001 start pump\n{LATE_END}")
    assert late.credit == pytest.approx(29_999 / 30_000)
    assert late.verdict == "late"


def test_latest_itself_earns_nothing_and_is_too_late() -> None:
    marked = item(PUMP, f"0 birth\n90 start pump\n{LATE_END}")
    assert (marked.credit, marked.verdict) == (0.0, "too late")


def test_without_latest_there_is_no_slope() -> None:
    key = "- {expect: pump, from: birth, ideal: 60 s}"
    assert item(key, f"0 birth\n60 start pump\n{LATE_END}").credit == 1.0
    late = item(key, f"0 birth\n60.001 start pump\n{LATE_END}")
    assert (late.credit, late.verdict) == (0.0, "too late")


def test_nothing_done_is_missed() -> None:
    marked = item(PUMP, f"0 birth\n{LATE_END}")
    assert (marked.credit, marked.verdict, marked.applied) == (0.0, "missed", True)


def test_too_late_is_told_from_missed() -> None:
    marked = item(PUMP, f"0 birth\n200 start pump\n{LATE_END}")
    assert (marked.credit, marked.verdict) == (0.0, "too late")
    assert marked.occasions[0].delay_ms == 200_000


def test_a_lasting_action_running_at_the_anchor_has_no_delay() -> None:
    # in force at a = 50: d = 0
    marked = item(PUMP, f"10 start pump\n50 birth\n{LATE_END}")
    assert (marked.credit, marked.occasions[0].delay_ms) == (1.0, 0)


def test_a_lasting_action_stopped_at_the_very_anchor_is_not_running() -> None:
    # in force means start <= t < stop: at 50 it is not
    marked = item(PUMP, f"10 start pump\n50 stop pump\n50 birth\n{LATE_END}")
    # what was done before *a* is for a verdict alone
    assert (marked.credit, marked.verdict) == (0.0, "early")


def test_what_was_done_before_the_anchor_earns_nothing_and_reads_early() -> None:
    marked = item(CALL, f"10 done call\n50 birth\n{LATE_END}")
    assert (marked.credit, marked.verdict) == (0.0, "early")


def test_at_one_instant_the_order_of_entries_tells_before_from_after() -> None:
    assert item(CALL, f"50 done call\n50 birth\n{LATE_END}").verdict == "early"
    after = item(CALL, f"50 birth\n50 done call\n{LATE_END}")
    assert (after.credit, after.occasions[0].delay_ms) == (1.0, 0)


def test_an_action_at_the_very_entry_of_a_state_was_done_just_before_it() -> None:
    # at most 10 s before a state's entry: d = 0
    key = "- {expect: call, from: {state: low}, ideal: 60 s}"
    assert item(key, f"50 state low\n50 done call\n{LATE_END}").occasions[0].delay_ms == 0
    assert item(key, f"50 state low\n50.001 done call\n{LATE_END}").credit == 1.0


def test_a_lasting_action_started_at_the_very_entry_is_running_then() -> None:
    key = "- {expect: pump, from: {state: low}, ideal: 60 s}"
    assert item(key, f"50 start pump\n50 state low\n{LATE_END}").credit == 1.0


def test_with_not_before_below_zero_what_was_done_shortly_before_earns_all() -> None:
    key = "- {expect: call, from: birth, not_before: -20 s, ideal: 60 s}"
    # d = 35 - 50 = -15 >= -20: credit 1
    marked = item(key, f"35 done call\n50 birth\n{LATE_END}")
    assert (marked.credit, marked.occasions[0].delay_ms) == (1.0, -15_000)
    # d = 29 - 50 = -21 < -20: for a verdict alone
    assert item(key, f"29 done call\n50 birth\n{LATE_END}").verdict == "early"


def test_with_not_before_above_zero_an_earlier_one_reads_early() -> None:
    key = "- {expect: call, from: birth, not_before: 30 s, ideal: 60 s}"
    marked = item(key, f"0 birth\n20 done call\n{LATE_END}")
    assert (marked.credit, marked.verdict) == (0.0, "early")


def test_a_second_one_in_time_is_taken_rather_than_the_early_one() -> None:
    key = "- {expect: call, from: birth, not_before: 30 s, ideal: 60 s}"
    marked = item(key, f"0 birth\n20 done call\n40 done call\n{LATE_END}")
    assert (marked.credit, marked.verdict, marked.occasions[0].done_ms) == (1.0, "on time", 40_000)


def test_what_is_still_running_at_not_before_is_done_then() -> None:
    key = "- {expect: pump, from: birth, not_before: 30 s, ideal: 60 s}"
    # began at 10, in force at 0 + 30: d = 30 s
    marked = item(key, f"0 birth\n10 start pump\n{LATE_END}")
    assert (marked.credit, marked.occasions[0].delay_ms) == (1.0, 30_000)
    # stopped at 25: not in force at 30, and d = 10 < 30 is early
    stopped = item(key, f"0 birth\n10 start pump\n25 stop pump\n{LATE_END}")
    assert stopped.verdict == "early"


def test_what_was_stopped_too_soon_is_no_performance() -> None:
    # shortest is 3 s
    assert item(PUMP, f"0 birth\n40 start pump\n42.9 stop pump\n{LATE_END}").verdict == "missed"
    assert item(PUMP, f"0 birth\n40 start pump\n43 stop pump\n{LATE_END}").credit == 1.0


def test_a_start_while_running_is_no_performance() -> None:
    key = """
    - {expect: pump, from: {state: low}, ideal: 10 s}
    """
    # begun at 5 and still running at a = 50; the start at 55 changes nothing
    marked = item(key, f"5 start pump\n50 state low\n55 start pump\n{LATE_END}")
    assert marked.occasions[0].delay_ms == 0


def test_a_withdrawn_entry_never_was() -> None:
    marked = item(PUMP, f"0 birth\n40 start pump\n{LATE_END}\n400 withdraw 2")
    assert marked.verdict == "missed"


@pytest.mark.parametrize("how", ["said", "ordered", "attempted"])
def test_another_way_than_those_that_count_reads_attempted(how: str) -> None:
    marked = item(CALL, f"0 birth\n40 done call how={how}\n{LATE_END}")
    assert (marked.credit, marked.verdict) == (0.0, "attempted")
    assert marked.occasions[0].evidence[0].at_ms == 40_000


def test_simulated_counts_by_default_and_said_where_it_is_accepted() -> None:
    assert item(CALL, f"0 birth\n40 done call how=simulated\n{LATE_END}").credit == 1.0
    key = "- {expect: call, from: birth, ideal: 60 s, accepts: [said]}"
    assert item(key, f"0 birth\n40 done call how=said\n{LATE_END}").credit == 1.0
    assert item(key, f"0 birth\n40 done call\n{LATE_END}").verdict == "attempted"


def test_what_nobody_could_see_is_not_reached() -> None:
    marked = item(CALL, f"0 birth\n{LATE_END}\n400 unobserved expect:call")
    assert (marked.credit, marked.verdict, marked.applied) == (None, "not reached", False)


def test_an_item_whose_kit_was_not_there_is_not_reached() -> None:
    marked = item(CALL, f"0 birth\n10 unavailable action=call\n{LATE_END}")
    assert (marked.credit, marked.verdict) == (None, "not reached")


def test_a_fault_that_missing_kit_would_put_right_is_not_reached() -> None:
    key = "- {expect: {mend: leak}, ideal: 60 s}"
    assert item(key, f"10 unavailable action=swap\n{LATE_END}").credit is None
    find = "- {expect: {find: leak}, ideal: 60 s}"
    assert item(find, f"10 unavailable action=swap\n{LATE_END}").credit == 0.0


def test_an_anchor_that_never_came_leaves_the_item_out() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 60 s}"
    assert item(key, LATE_END).credit is None


def test_must_reach_earns_nothing_if_the_anchor_never_comes() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 60 s, must_reach: true}"
    marked = item(key, LATE_END)
    assert (marked.credit, marked.verdict) == (0.0, "missed")


def test_closing_before_ideal_with_nothing_done_is_not_reached() -> None:
    # a + ideal = 60 s; closed at 59.999: not reached; closed at 60: a miss
    assert item(CALL, "0 birth\n59.999 closed stopped early").credit is None
    assert item(CALL, "0 birth\n60 closed stopped early").credit == 0.0


def test_closing_before_ideal_with_it_done_counts() -> None:
    assert item(CALL, "0 birth\n20 done call\n30 closed stopped early").credit == 1.0


def test_a_log_without_closed_ends_at_its_last_event() -> None:
    assert item(CALL, "0 birth\n59 done look").credit is None
    assert item(CALL, "0 birth\n61 done look").credit == 0.0


def test_a_state_of_until_before_ideal_makes_it_not_reached() -> None:
    key = "- {expect: call, from: birth, ideal: 60 s, latest: 90 s, until: [high]}"
    assert item(key, f"0 birth\n50 state high\n{LATE_END}").credit is None


def test_nothing_done_after_until_counts() -> None:
    key = "- {expect: call, from: birth, ideal: 60 s, latest: 90 s, until: [high]}"
    # until entered at 70, after a + ideal = 60: a miss; the call at 75 would have earned 0.5
    marked = item(key, f"0 birth\n70 state high\n75 done call\n{LATE_END}")
    assert (marked.credit, marked.verdict) == (0.0, "missed")
    # at the very ms of the entry the call comes first: (90 - 70) / 30 = 2/3
    same = item(key, f"0 birth\n70 done call\n70 state high\n{LATE_END}")
    assert same.credit == pytest.approx(2 / 3)


def test_leaving_during_closes_the_window_as_until_does() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 60 s, during: [low]}"
    assert item(key, f"10 state low\n50 state idle\n55 done call\n{LATE_END}").credit is None
    assert item(key, f"10 state low\n90 state idle\n{LATE_END}").verdict == "missed"
    assert item(key, f"10 state low\n40 done call\n90 state idle\n{LATE_END}").credit == 1.0


def test_an_anchor_outside_during_does_not_apply() -> None:
    key = "- {expect: call, from: birth, ideal: 60 s, during: [low]}"
    assert item(key, f"5 birth\n10 state low\n{LATE_END}").credit is None


def test_only_the_first_entry_counts_without_each() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 10 s}"
    record = f"10 state low\n15 done call\n50 state idle\n100 state low\n{LATE_END}"
    marked = item(key, record)
    assert (marked.credit, len(marked.occasions)) == (1.0, 1)


def test_each_takes_the_mean_over_occasions_and_the_worst_verdict() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 10 s, latest: 20 s, each: true}"
    record = f"""
    10 state low
    15 done call
    50 state idle
    100 state low
    115 done call
    {LATE_END}
    """
    # d = 5 s: 1; d = 15 s: (20 - 15) / 10 = 0.5; mean 0.75
    marked = item(key, record)
    assert (marked.credit, marked.verdict) == (0.75, "late")
    assert [occasion.verdict for occasion in marked.occasions] == ["on time", "late"]


def test_the_worst_occasion_is_the_one_with_the_least_credit() -> None:
    key = """
    - expect: pump
      from: {state: low}
      ideal: 10 s
      latest: 20 s
      each: true
      settings: {pressure: 28 to 32 cmH2O}
    """
    record = f"""
    10 state low
    15 start pump pressure=35
    40 stop pump
    50 state idle
    100 state low
    112 start pump pressure=30
    {LATE_END}
    """
    # first: on time, e = 3, t = 4: 1 - 3/4 = 0.25; second: (20 - 12) / 10 = 0.8
    marked = item(key, record)
    assert marked.credit == pytest.approx((0.25 + 0.8) / 2)
    assert marked.verdict == "setting off"


def test_an_occasion_that_is_not_reached_leaves_the_mean() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 30 s, each: true}"
    record = "10 state low\n15 done call\n50 state idle\n100 state low\n110 closed stopped early"
    marked = item(key, record)
    assert (marked.credit, marked.verdict) == (1.0, "on time")
    assert marked.occasions[1].verdict == "not reached"


def test_an_action_as_anchor_is_not_served_by_itself() -> None:
    key = "- {expect: give, from: {action: give}, ideal: 180 s, latest: 300 s, each: true}"
    # the first at 10 s opens an occasion, which the second at 130 s serves; the second opens one
    # too, and nothing serves that by its a + ideal = 310 s
    marked = item(key, f"10 done give\n130 done give\n{LATE_END}")
    assert [occasion.verdict for occasion in marked.occasions] == ["on time", "missed"]


def test_a_fault_is_asked_from_its_planting() -> None:
    find = "- {expect: {find: leak}, ideal: 60 s, latest: 120 s}"
    # planted at 0; found at 90: (120 - 90) / 60 = 0.5, whenever the clock began
    marked = item(find, f"80 birth\n90 fault leak found\n{LATE_END}")
    assert marked.credit == 0.5


def test_what_was_put_right_was_found() -> None:
    find = "- {expect: {find: leak}, ideal: 60 s}"
    assert item(find, f"50 done swap\n{LATE_END}").credit == 1.0


def test_a_fault_is_put_right_by_its_action_or_its_setting() -> None:
    leak = "- {expect: {mend: leak}, ideal: 60 s}"
    assert item(leak, f"50 done swap\n{LATE_END}").credit == 1.0
    assert item(leak, f"50 fault leak found\n{LATE_END}").verdict == "missed"
    dial = "- {expect: {mend: dial}, ideal: 60 s}"
    assert item(dial, f"50 set pressure=35\n{LATE_END}").credit == 1.0


@pytest.mark.parametrize(
    ("delay", "credit"), [(0, 1.0), (60, 1.0), (61, 29 / 30), (89, 1 / 30), (90, 0.0), (91, 0.0)]
)
def test_the_time_credit_is_as_the_page_says(delay: int, credit: float) -> None:
    assert time_credit(delay, 60, 90) == pytest.approx(credit)


def test_a_cue_marks_what_was_done_after_it() -> None:
    assert item(CALL, f"0 birth\n20 cue call\n40 done call\n{LATE_END}").with_cue
    assert not item(CALL, f"0 birth\n20 done call\n40 cue call\n{LATE_END}").with_cue
    assert not item(CALL, f"0 birth\n20 cue look\n40 done call\n{LATE_END}").with_cue


def test_a_cue_that_was_answered_does_not_mark_the_next_time() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 10 s, each: true}"
    record = f"""
    10 state low
    12 cue call
    15 done call
    50 state idle
    100 state low
    105 done call
    {LATE_END}
    """
    marked = item(key, record)
    assert [occasion.with_cue for occasion in marked.occasions] == [True, False]


def test_a_cue_that_nobody_answered_ends_with_its_window() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 10 s, latest: 20 s, each: true}"
    # given in the window that ends at 10 + 20 = 30; the call at 105 is of the next one
    record = f"10 state low\n12 cue call\n50 state idle\n100 state low\n105 done call\n{LATE_END}"
    assert [occasion.with_cue for occasion in item(key, record).occasions] == [False, False]


def test_a_role_of_its_own_or_the_role_that_did_it_or_the_team() -> None:
    key = """
    - {expect: call, from: birth, ideal: 60 s, role: two, id: own}
    - {expect: pump, from: birth, ideal: 60 s, id: doer}
    - {expect: swap, from: birth, ideal: 60 s, id: missed}
    """
    record = f"0 birth\n20 done call role=one\n30 start pump role=one\n{LATE_END}"
    roles = card(key, record).roles
    # each weighs 2: role two has the call (1), role one the pump (1), the team the miss (0)
    assert {name: (part.total, part.weight) for name, part in roles.items()} == {
        "two": (1.0, 2.0),
        "one": (1.0, 2.0),
        "team": (0.0, 2.0),
    }
