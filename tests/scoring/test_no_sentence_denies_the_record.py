"""No sentence denies what the record holds: shipped sessions, any record, cases by hand."""

from __future__ import annotations

import pytest
from hypothesis import given

from simengine.scoring import score
from tests.scoring.case import item, session
from tests.scoring.denials import denials
from tests.scoring.test_any_record_of_the_second_edition import KEY, RECORDS
from tests.shipped import SESSIONS
from tests.shipped import card as shipped_card
from tests.shipped import session as shipped_session

END = "400 closed finished"
LONGER = (
    KEY
    + """
- {expect: pump, from: {state: low}, ideal: 20 s, id: pump-when-low}
- {expect: look, from: {state: low}, ideal: 20 s, each: true, until: [high], id: look-each-time}
- {respond: pump, whenever: {observed: {rate: below 60 /min}}, ideal: 20 s, unseen: true}
- {repeat: {any: [look, sample]}, every: 20 s, during: [low], id: looked-on}
- {repeat: look, every: 20 s, spoken: true, id: looked-and-said}
- {keep: {doing: pump}, during: [low], share: 90 %, id: pumped-on, title: Pump kept going}
- {order: [call, pump, look], during: [low], id: in-order}
- {avoid: pump, id: no-pump}
- {avoid: call, id: no-call}
"""
)


@pytest.mark.parametrize("name", SESSIONS)
def test_no_sentence_of_a_recorded_session_denies_its_record(name: str) -> None:
    assert denials(shipped_session(name), shipped_card(name, 0)) == []


@given(RECORDS)
def test_no_sentence_denies_any_record(record: str) -> None:
    ran = session(LONGER, f"{record}\n{END}", protocol="small-unsafe")
    assert denials(ran, score(ran, redraws=0)) == []


def told(key: str, record: str) -> str:
    return item(key, f"{record}\n{END}").sentence


def test_what_was_too_short_to_count_is_told_with_its_length() -> None:
    """The vocabulary counts the pump from 3 s on."""
    key = "- {expect: pump, from: birth, ideal: 60 s}"
    assert told(key, "0 birth\n20 start pump\n22 stop pump\n30 start pump\n31 stop pump") == (
        "Pumping: recorded at 0:20 for 2 s and 0:30 for 1 s, too brief to count (it has to last "
        "3 s); aim for this within 60 s of birth."
    )


def test_too_short_is_told_in_every_kind() -> None:
    short = "0 birth\n100 state low\n120 start pump\n122 stop pump\n200 state high"
    too_short = "recorded at 2:00 for 2 s, too brief to count (it has to last 3 s)"
    for key in (
        "- {respond: pump, whenever: {observed: {rate: below 60 /min}}, ideal: 20 s, unseen: true}",
        "- {repeat: pump, every: 20 s, during: [low]}",
        "- {keep: {doing: pump}, during: [low], title: Pump kept going}",
        "- {avoid: pump, during: [low]}",
    ):
        assert too_short in told(key, short)
    looked = told("- {order: [pump, look]}", f"90 done look\n{short}")
    assert looked.startswith(f"You began with looking at 1:30; not counted: pumping ({too_short}).")


def test_what_is_stopped_at_the_very_shortest_counts() -> None:
    key = "- {expect: pump, from: birth, ideal: 60 s}"
    assert told(key, "0 birth\n20 start pump\n23 stop pump").startswith(
        "You started to pump at 0:20"
    )


def test_what_is_not_advised_and_ran_too_short_is_not_called_not_done() -> None:
    """The blow counts against nobody until it has lasted 20 s, by the vocabulary."""
    assert told("- {avoid: blow}", "0 birth\n20 start blow\n35 stop blow") == (
        "Not advised here; so at 0:20 for 15 s, too brief to count (it has to last 20 s)."
    )
    assert told("- {avoid: call}", "0 birth\n20 done call how=ordered") == (
        "Not advised here; ordered at 0:20, but it only counts when done or simulated."
    )


def test_a_value_set_in_time_but_not_as_asked_is_told_as_that() -> None:
    key = "- {expect: {set: oxygen, to: at most 40 %}, from: birth, ideal: 60 s}"
    assert told(key, "0 birth\n20 set oxygen=60\n200 set oxygen=70") == (
        "A change in oxygen: recorded at 0:20 (60 %) and 3:20 (70 %), out of range; "
        "aim for oxygen to be at most 40 % within 60 s of birth."
    )


def test_one_call_for_two_items_is_told_as_counted_for_the_other() -> None:
    both = """
    - {expect: call, from: birth, ideal: 60 s, importance: essential}
    - {expect: call, from: birth, ideal: 60 s, importance: helpful}
    """
    ran = session(both, f"0 birth\n20 done call\n{END}")
    assert [marked.sentence.split("; ")[0] for marked in score(ran, redraws=0).items] == [
        "You called at 0:20, well within the 60 s.",
        "Calling: recorded at 0:20, and already counted under another item",
    ]


def test_a_sensor_taken_off_before_it_read_is_told() -> None:
    """The probe reads 5 s after it is put on."""
    key = "- {expect: {know: rate}, from: birth, ideal: 60 s}"
    assert told(key, "0 birth\n20 start probe\n24 stop probe").startswith(
        "Rate: recorded at 0:20, but with no reading;"
    )


def test_a_value_said_before_any_look_is_told_as_a_guess() -> None:
    key = "- {expect: {know: rate, told: true}, from: birth, ideal: 60 s}"
    assert told(key, "0 birth\n20 done read_out spoken=120").startswith(
        "Rate: called out at 0:20, before there was a reading;"
    )


def test_what_was_done_without_saying_the_value_is_told_as_that() -> None:
    key = "- {repeat: look, every: 20 s, spoken: true, during: [low]}"
    record = "0 birth\n100 state low\n110 done look\n200 state high"
    assert told(key, record).startswith(
        "Looking: checked at 1:50, with no value recorded as called out;"
    )


def test_done_before_the_condition_and_given_up_says_until_when_it_was_asked() -> None:
    key = (
        "- {respond: call, whenever: {observed: {rate: below 60 /min}}, ideal: 60 s, unseen: true}"
    )
    sentence = told(key, "0 birth\n50 done call\n100 state low\n120 state ready rule")
    assert sentence.startswith(
        "Calling: recorded at 0:50, but not in the time aimed for. It was needed before “Ready”;"
    )
