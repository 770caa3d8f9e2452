"""What was done before it was asked, worked by hand: ahead, at the entry, early.

Each row: the marking guide, the record, and the credit and verdict of its first item.
"""

from __future__ import annotations

import pytest

from tests.scoring.case import card, item

END = "400 closed finished"
AGREE = "- {expect: agree, from: birth, ideal: 60 s}"
HAT = "- {expect: hat, from: {state: low}, ideal: 60 s}"
LOW = "- {expect: call, from: {state: low}, ideal: 30 s}"


@pytest.mark.parametrize(
    ("key", "record", "credit", "verdict"),
    [
        # stays done: done at 10, asked at 50, so 40 s ahead
        (AGREE, "10 done agree\n50 birth", 1.0, "on time"),
        # said alone is no way that counts for it
        (AGREE, "10 done agree how=said\n50 birth", 0.0, "attempted"),
        # what is done to the baby counts from time zero (20 s), not before it
        (HAT, "20 birth\n30 done hat\n100 state low", 1.0, "on time"),
        (HAT, "10 done hat\n20 birth\n100 state low", 0.0, "early"),
        # something lasting that stays: in force at 100; taken off at 60, so no longer
        ("- {expect: line, from: {state: low}, ideal: 60 s}", "10 start line\n100 state low", 1.0,
         "on time"),
        ("- {expect: line, from: {state: low}, ideal: 60 s}",
         "10 start line\n60 stop line\n100 state low", 0.0, "early"),
        # recorded 10 s before a state's entry: d = 0; 10.001 s before: early
        (LOW, "90 done call\n100 state low", 1.0, "on time"),
        (LOW, "89.999 done call\n100 state low", 0.0, "early"),
        # the 10 s are for a state's entry alone, not for time zero
        ("- {expect: call, from: birth, ideal: 30 s}", "45 done call\n50 birth", 0.0, "early"),
        # what serves after the anchor is taken rather than the early one
        (LOW, "50 done call\n100 state low\n120 done call", 1.0, "on time"),
        # not_before above 0 decides alone, also for what stays: -40 < 30
        ("- {expect: agree, from: birth, not_before: 30 s, ideal: 60 s}", "10 done agree\n50 birth",
         0.0, "early"),
        # ahead: counts: what was done since the anchor before (from the start, for the first)
        ("- {expect: call, from: birth, ideal: 30 s, ahead: counts}", "10 done call\n50 birth", 1.0,
         "on time"),
        # ahead: early, although it stays
        ("- {expect: agree, from: birth, ideal: 30 s, ahead: early}", "10 done agree\n50 birth",
         0.0, "early"),
    ],
)  # fmt: skip
def test_done_before_it_was_asked(key: str, record: str, credit: float, verdict: str) -> None:
    marked = item(key, f"{record}\n{END}")
    assert (marked.credit, marked.verdict) == (credit, verdict)


def test_what_stays_uses_nothing_up_before_or_after_its_anchor() -> None:
    # one agreement at 30 serves both: 20 s before the one anchor, 10 s after the other
    key = AGREE + "\n- {expect: agree, from: start, ideal: 60 s}"
    scored = card(key, f"30 done agree\n50 birth\n{END}")
    assert [marked.credit for marked in scored.items] == [1.0, 1.0]


def test_ahead_counts_uses_up_what_was_done_since_the_anchor_before() -> None:
    key = "- {expect: call, from: {state: low}, ideal: 30 s, each: true, ahead: counts}"
    record = "50 done call\n100 state low\n150 state idle\n200 state low"
    # the call at 50 serves the entry at 100 and is used up; before the entry at 200 there is none
    marked = item(key, f"{record}\n{END}")
    assert [occasion.credit for occasion in marked.occasions] == [1.0, 0.0]
    again = record.replace("150 state", "120 done call\n150 state")
    later = item(key, f"{again}\n{END}")
    # two calls, two occasions: 50 (since the start) for 100, 120 (since 100) for 200
    assert [occasion.credit for occasion in later.occasions] == [1.0, 1.0]


def test_the_early_one_is_the_last_that_serves_nothing_else() -> None:
    key = LOW + "\n- {expect: call, from: start, ideal: 30 s}"
    # the call at 20 serves the start, the one at 60 nothing: that is the early one
    marked = card(key, f"20 done call\n60 done call\n100 state low\n{END}").items[0]
    assert (marked.verdict, marked.occasions[0].done_ms, marked.occasions[0].delay_ms) == (
        "early", 60_000, -40_000)  # fmt: skip


def test_a_window_that_closes_before_its_ideal_says_what_was_done_before() -> None:
    marked = item(LOW, "50 done call\n100 state low\n120 closed stopped early")
    assert (marked.credit, marked.verdict) == (None, "not reached")
    assert "Before that, the record has calling at 0:50." in marked.occasions[0].sentence


def test_a_respond_item_knows_ahead_but_no_early() -> None:
    whenever = (
        "- {{respond: {}, whenever: {{observed: {{colour: pale}}}}, lasting: 10 s, ideal: 20 s}}"
    )
    # pale from 100; agreed at 10: it stays done. Called at 10: missed, and the sentence says when
    assert item(whenever.format("agree"), f"10 done agree\n100 state low\n{END}").credit == 1.0
    call = item(whenever.format("call"), f"10 done call\n100 state low\n{END}")
    assert (call.credit, call.verdict) == (0.0, "missed")
    assert "0:10" in call.sentence


def test_a_respond_item_with_ahead_early_is_not_met_by_what_began_before_its_condition() -> None:
    key = "- {respond: press, whenever: {observed: {colour: pale}}, lasting: 10 s, ideal: 20 s}"
    record = f"10 start press\n100 state low\n{END}"
    assert item(key, record).credit == 1.0
    strict = item(key.replace("ideal: 20 s", "ideal: 20 s, ahead: early"), record)
    assert (strict.credit, strict.verdict) == (0.0, "missed")
    assert "0:10" in strict.sentence


def test_what_is_speech_is_done_by_being_said_and_not_by_being_ordered() -> None:
    key = "- {expect: shout, from: birth, ideal: 30 s}"
    assert item(key, f"0 birth\n10 done shout how=said\n{END}").verdict == "on time"
    assert item(key, f"0 birth\n10 done shout how=ordered\n{END}").verdict == "attempted"
    # an action that is no speech is not
    assert item(LOW, f"100 state low\n110 done call how=said\n{END}").verdict == "attempted"


def test_what_the_scenario_starts_with_is_nobodys_performance() -> None:
    # as found: neither credited nor missed; it counts where the item says so
    key = "- {expect: pump, from: birth, ideal: 30 s}"
    marked = item(key, f"0 birth\n{END}", doing="pump")
    assert (marked.credit, marked.verdict) == (None, "not reached")
    counts = key.replace("ideal: 30 s", "ideal: 30 s, as_found: counts")
    assert item(counts, f"0 birth\n{END}", doing="pump").credit == 1.0
    # conditions see it: kept for all of the time
    assert item("- {keep: {doing: pump}}", f"0 birth\n{END}", doing="pump").credit == 1.0
    # order and avoid do not take it for the team's doing
    order = item("- {order: [pump, call]}", f"10 done call\n{END}", doing="pump")
    assert (order.credit, order.verdict) == (0.0, "missed")
    assert not card("- {avoid: pump}", f"0 birth\n{END}", doing="pump").deductions


def test_no_sentence_denies_what_the_record_holds() -> None:
    missed = item(LOW, f"100 state low\n150 state idle\n350 done call how=said\n{END}")
    assert "There is no record" not in missed.sentence
    gone = item(LOW.replace("}, ideal", "}, until: [idle], ideal"),
                f"100 state low\n150 state idle\n350 done call\n{END}")  # fmt: skip
    assert gone.verdict == "missed"
    assert "recorded at 5:50" in gone.sentence
