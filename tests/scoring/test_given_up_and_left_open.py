"""Work called done too soon, pairs in order, and readings that the rules leave open, by hand."""

from __future__ import annotations

from typing import Any

import pytest

from tests.scoring.case import card, item
from tests.scoring.test_totals_and_outcome import STANDARD

END = "400 closed finished"
CALL = "- {expect: call, from: birth, ideal: 200 s}"
PALE = "whenever: {observed: {colour: pale}}, lasting: 10 s, ideal: 60 s"
UNTIL = "- {expect: call, from: birth, ideal: 200 s, until: [ready]}"
LOOK_CALL = "- {order: [look, call]}"


@pytest.mark.parametrize(
    ("key", "record", "credit", "verdict"),
    [
        # called ready at 50 by rule, long before the ideal of 200 s
        (CALL, "0 birth\n50 state ready rule", 0.0, "missed"),
        # done before it is done; done after it is not
        (CALL, "0 birth\n40 done call\n50 state ready rule", 1.0, "on time"),
        (CALL, "0 birth\n50 state ready rule\n60 done call", 0.0, "missed"),
        # taken by hand it is not the team's saying
        (CALL, "0 birth\n50 state ready\n60 done call", 1.0, "on time"),
        # it wins over until, which names the same state
        (UNTIL, "0 birth\n50 state ready rule", 0.0, "missed"),
        (UNTIL, "0 birth\n50 state ready", None, "not reached"),
        # asked from 110 on, still open at 150
        (f"- {{respond: call, {PALE}}}", "100 state low\n150 state ready rule", 0.0, "missed"),
        # an occasion that had not opened by then: the condition held for 5 s
        (f"- {{respond: call, {PALE}}}", "100 state low\n105 state ready rule", None,
         "not reached"),
        # an order with none done; with one of the two nothing changes
        (LOOK_CALL, "50 state ready rule", 0.0, "missed"),
        (LOOK_CALL, "50 state ready", None, "not reached"),
        # met as found stays not reached
        ("- {expect: {set: pressure, to: 18 to 22 cmH2O}, from: birth, ideal: 200 s}",
         "0 birth\n50 state ready rule", None, "not reached"),
    ],
)  # fmt: skip
def test_work_called_done(key: str, record: str, credit: float | None, verdict: str) -> None:
    marked = item(key, f"{record}\n{END}")
    assert (marked.credit, marked.verdict) == (credit, verdict)


def test_what_was_not_done_before_it_was_called_done_says_so() -> None:
    marked = item(CALL, f"0 birth\n50 state ready rule\n{END}")
    assert marked.sentence.startswith("There is no record of calling before “Ready”;")


@pytest.mark.parametrize(
    ("record", "credit", "verdict"),
    [
        # three pairs, of which all were done in order
        ("10 done look\n20 done call\n30 done give\n40 start press", 1.0, "in order"),
        # any of a member: the first of either
        ("10 done look\n20 done call\n30 done swap\n35 done give\n40 start press", 1.0, "in order"),
        # 1 of 3: give before call, press never
        ("10 done look\n20 done give\n30 done call", 1 / 3, "partly"),
        # press was never done and an item that applied asks for it: 2 of 3
        ("10 done look\n20 done call\n30 done give", 2 / 3, "partly"),
    ],
)
def test_order_by_pairs(record: str, credit: float, verdict: str) -> None:
    key = """
    - {order: [look, call, {any: [swap, give]}, press]}
    - {expect: press, from: start, ideal: 60 s}
    """
    marked = item(key, f"{record}\n{END}")
    assert marked.credit == pytest.approx(credit)
    assert marked.verdict == verdict


# --- what an independent scorer found, each worked by hand ------------------------------------


def test_a_start_setting_is_not_taken_for_something_done_at_the_start() -> None:
    # oxygen is not known at first: so pressure, 20 as found, in range, condition from 0 ms on
    key = """
    - respond: {set: pressure, to: 18 to 22 cmH2O}
      whenever: {observed: {colour: pink}}
      lasting: 10 s
      ideal: 30 s
      unseen: true
    """
    # the team turns it up out of range within the window: missed, and not credited at 0 ms
    turned = item(key, f"20 set pressure=30\n{END}")
    assert (turned.credit, turned.verdict) == (0.0, "missed")
    # untouched it is as found: in neither sum
    assert item(key, END).credit is None


def test_a_start_setting_is_not_early_where_the_window_never_came() -> None:
    key = """
    - expect: {set: pressure, to: 18 to 22 cmH2O}
      from: start
      not_before: 30 s
      ideal: 60 s
      as_found: counts
      until: [low]
    """
    assert item(key, f"1 state low\n{END}").verdict == "not reached"
    # in force at 0 + 30 s it counts
    assert item(key, END).credit == 1.0


def test_a_condition_that_still_held_at_the_end_did_not_put_itself_right() -> None:
    marked = item(f"- {{respond: call, {PALE}}}", "100 state low\n140 closed stopped early")
    assert marked.credit is None
    assert marked.sentence == "The session ended before the time for this was up."
    gone = item(
        f"- {{respond: call, {PALE}, during: [low]}}", f"100 state low\n140 state high\n{END}"
    )
    assert gone.sentence == "Things moved on before the time for this was up."


def test_items_of_weight_0_get_pairs_with_credit_before_what_is_left_is_matched() -> None:
    # both want the call at 20, at 80: the item of weight 0 by 30 s, the other one by 200 s
    key = """
    - {expect: call, from: start, ideal: 30 s, importance: helpful}
    - {expect: call, from: start, ideal: 200 s, not_before: 60 s, id: later}
    """
    scored = card(key, f"20 done call\n80 done call\n{END}", scoring="{weights: {helpful: 0}}")
    assert [marked.credit for marked in scored.items] == [1.0, 1.0]


def test_as_found_and_then_moved_out_within_the_window_is_missed() -> None:
    key = "- {expect: {set: pressure, to: 18 to 22 cmH2O}, from: birth, ideal: 60 s}"
    assert item(key, f"0 birth\n40 set pressure=30\n{END}").verdict == "missed"
    # after the window nobody had touched it
    assert item(key, f"0 birth\n90 set pressure=30\n{END}").verdict == "not reached"


def test_a_persons_event_at_the_very_ms_of_an_entry_lies_in_the_state_that_is_left() -> None:
    key = "- {{expect: call, from: {{action: swap}}, ideal: 30 s, during: [{}]}}"
    record = f"50 done swap\n50 state low\n60 done call\n{END}"
    # the anchor at 50 belongs to idle, whose stay ends there with nothing done: not reached
    assert item(key.format("idle"), record).verdict == "not reached"
    assert item(key.format("low"), record).verdict == "not reached"
    # a state's own entry is the beginning of its stay
    entry = "- {expect: call, from: {state: low}, ideal: 30 s, during: [low]}"
    assert item(entry, record).credit == 1.0


def test_the_phase_of_what_is_to_be_known_or_set() -> None:
    # rate is revealed first by look, which belongs to "during"
    assert item("- {keep: {seen: [rate]}}", END).phase == "during"
    assert item("- {expect: {know: rate}, from: birth, ideal: 60 s}", END).phase == "during"
    # oxygen is carried by pump alone
    change = "- {expect: {set: oxygen, to: 21 to 30 %}, from: start, ideal: 60 s}"
    assert item(change, END).phase == "during"


def test_a_cue_answered_after_its_windows_end_came_with_a_cue_all_the_same() -> None:
    key = "- {expect: call, from: start, ideal: 30 s, latest: 60 s}"
    marked = item(key, f"50 cue call\n90 done call\n{END}")
    assert (marked.verdict, marked.with_cue) == ("too late", True)


def test_a_change_from_a_value_that_was_not_recorded_is_in_neither_sum() -> None:
    key = "- {expect: {set: oxygen, change: lower}, from: birth, ideal: 60 s}"
    scored = card(key, f"0 birth\n30 set oxygen=30\n{END}")
    assert (scored.total, scored.unrecorded) == (None, 1)


@pytest.mark.parametrize(
    ("record", "credit"),
    [
        # from 100 to 99 %: no meaningful change (tolerance 10 %)
        ("10 set oxygen=100\n50 birth\n60 set oxygen=99", 0.0),
        ("10 set oxygen=100\n50 birth\n60 set oxygen=90", 1.0),
        # turned down 40 s before and still so: counts at the anchor
        ("1 set oxygen=60\n10 set oxygen=30\n50 birth", 1.0),
        # 61 s before, or turned up again
        ("1 set oxygen=60\n10 set oxygen=30\n71 birth", 0.0),
        ("1 set oxygen=60\n10 set oxygen=30\n40 set oxygen=60\n50 birth", 0.0),
    ],
)
def test_a_meaningful_change(record: str, credit: float) -> None:
    key = "- {expect: {set: oxygen, change: lower}, from: birth, ideal: 60 s}"
    assert item(key, f"{record}\n{END}").credit == credit


def test_must_reach_within_during_asks_for_an_anchor_there() -> None:
    key = "- {expect: call, from: {action: swap}, ideal: 30 s, during: [low], must_reach: true}"
    # the swap at 50 was in idle: within low the anchor never happened
    missed = item(key, f"50 done swap\n100 state low\n{END}")
    assert (missed.credit, missed.verdict) == (0.0, "missed")
    # the first anchor inside during is the one at 120
    marked = item(key, f"50 done swap\n100 state low\n120 done swap\n130 done call\n{END}")
    assert (marked.credit, marked.occasions[0].opened_ms) == (1.0, 120_000)


def test_until_the_first_state_looks_for_its_next_entry() -> None:
    key = "- {expect: call, from: start, ideal: 100 s, until: [idle]}"
    # in idle from 0 on, which is at the anchor: so its entry closes the window at once
    assert item(key, f"50 done call\n{END}").verdict == "not reached"


def test_the_role_of_a_setting_in_force_is_who_set_it() -> None:
    key = "- {expect: {set: pressure, to: 28 to 32 cmH2O}, from: birth, ideal: 60 s}"
    assert item(key, f"10 set pressure=30 role=two\n50 birth\n{END}").role == "two"


def test_repeat_in_other_ways_alone_reads_attempted() -> None:
    key = "- {repeat: look, every: 30 s}"
    assert item(key, f"10 done look how=ordered\n{END}").verdict == "attempted"


# --- outcome and confirmation -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "record", "outcome"),
    [
        # one of two settings wholly off: the mean is 0.5, which meets the floor
        ("must: []", "30 start pump pressure=60 oxygen=25", "achieved"),
        ("must: [pressure]", "30 start pump pressure=60 oxygen=25", "not yet achieved"),
        ("must: [oxygen]", "30 start pump pressure=60 oxygen=25", "achieved"),
        # not recorded is not wholly off
        ("must: [oxygen]", "30 start pump pressure=30", "achieved"),
    ],
)
def test_a_setting_under_must_may_not_be_wholly_off(key: str, record: str, outcome: str) -> None:
    must = "" if key == "must: []" else f", {key}"
    guide = (
        "- {expect: pump, from: birth, ideal: 60 s, importance: essential, "
        f"settings: {{pressure: 28 to 32 cmH2O, oxygen: 21 to 30 %}}{must}}}"
    )
    given: dict[str, Any] = {"scoring": STANDARD.replace("70", "40"), "purpose": "summative"}
    assert card(guide, f"0 birth\n{record}\n{END}", **given).outcome == outcome


def test_an_essential_amount_of_credit_0_stops_a_pass_in_any_occasion() -> None:
    key = """
    - expect: give
      from: {state: low}
      each: true
      ideal: 60 s
      importance: essential
      dose: 20 mcg/kg
    """
    # two occasions, 1 and 0: the mean of 0.5 meets the floor
    record = (
        "100 state low\n110 done give amount=20_mcg/kg\n150 state idle\n"
        "200 state low\n210 done give amount=45_mcg/kg"
    )
    given: dict[str, Any] = {"scoring": STANDARD.replace("70", "40"), "purpose": "summative"}
    scored = card(key, f"{record}\n{END}", **given)
    assert scored.items[0].credit == 0.5
    assert scored.outcome == "not yet achieved"
    assert "the dose was a long way out" in scored.reasons[0]
