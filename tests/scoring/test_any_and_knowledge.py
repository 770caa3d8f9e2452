"""Any one of several, and what the team knows and says, worked by hand."""

from __future__ import annotations

import pytest

from tests.scoring.case import card, item

END = "400 closed finished"
ANY = "- {expect: {any: [call, swap]}, from: birth, ideal: 30 s, latest: 60 s}"
KNOW = "- {expect: {know: rate}, from: birth, ideal: 30 s, latest: 60 s}"
TOLD = "- {expect: {know: rate, told: true}, from: birth, ideal: 30 s, latest: 60 s}"


@pytest.mark.parametrize(
    ("key", "record", "credit", "verdict"),
    [
        # any of them, by the one done: 45 s: (60 - 45) / 30 = 0.5
        (ANY, "0 birth\n20 done swap", 1.0, "on time"),
        (ANY, "0 birth\n45 done call", 0.5, "late"),
        (ANY, "0 birth", 0.0, "missed"),
        # one of them was not there: the other may still be done
        (ANY, "0 birth\n5 unavailable action=call", 0.0, "missed"),
        # all were not there
        (ANY, "0 birth\n5 unavailable action=call\n6 unavailable action=swap", None, "not reached"),
        # a snapshot counts at its reading: a look at 20 reads at 22
        (KNOW, "0 birth\n20 done look", 1.0, "on time"),
        # 43 + 2 = 45: 0.5
        (KNOW, "0 birth\n43 done look", 0.5, "late"),
        # a sensor reads 5 s after it is put on: at 45
        (KNOW, "0 birth\n40 start probe", 0.5, "late"),
        # and is read all the time: known at 50, however long ago it was put on
        (KNOW, "10 start probe\n50 birth", 1.0, "on time"),
        # a snapshot 15 s old (33 + 2 = 35) is fresh at 50; 15.001 s is not
        (KNOW, "33 done look\n50 birth", 1.0, "on time"),
        (KNOW, "32.999 done look\n50 birth", 0.0, "early"),
        # a sensor that was taken off leaves its last reading: 40 is 10 s ago
        (KNOW, "10 start probe\n40 stop probe\n50 birth", 1.0, "on time"),
        (KNOW, "0 birth\n20 done look how=said", 0.0, "missed"),
        # told near the truth, 120: within 10
        (TOLD, "0 birth\n20 done look spoken=112", 1.0, "on time"),
        (TOLD, "0 birth\n20 done look spoken=131", 0.0, "told wrong"),
        # known and not said
        (TOLD, "0 birth\n20 done look", 0.0, "missed"),
        # said before any reading: a guess
        (TOLD, "0 birth\n20 done read_out spoken=120", 0.0, "missed"),
        # a sensor read out: it reads from 15 on, said at 45: 0.5
        (TOLD, "0 birth\n10 start probe\n45 done read_out spoken=120", 0.5, "late"),
        # what was said far from the truth, then near: the near one counts, 0.5
        (TOLD, "0 birth\n10 done look spoken=60\n43 done look spoken=120", 0.5, "late"),
    ],
)  # fmt: skip
def test_any_and_knowledge(key: str, record: str, credit: float | None, verdict: str) -> None:
    marked = item(key, f"{record}\n{END}")
    assert (marked.credit, marked.verdict) == (credit, verdict)


@pytest.mark.parametrize(
    ("said", "near"),
    # the truth is 50
    [
        ("50", True),
        ("40", True),
        ("60", True),
        ("61", False),
        ("below_60", True),  # holds 50
        ("60_to_100", True),  # ends 10 from it
        ("61_to_100", False),
        ("above_100", False),
        ("at_least_60", True),
    ],
)
def test_a_value_or_a_band_is_near_within_ten(said: str, near: bool) -> None:
    key = "- {expect: {know: rate, told: true}, from: {state: low}, ideal: 60 s}"
    scored = card(key, f"100 state low\n110 done look spoken={said}\n{END}")
    assert scored.items[0].verdict == ("on time" if near else "told wrong")
    assert [concern.code for concern in scored.found] == ([] if near else ["told wrong"])


def test_a_value_told_wrong_is_a_finding_whether_an_item_asks_for_it_or_not() -> None:
    scored = card("- {expect: call, from: birth, ideal: 60 s}",
                 f"0 birth\n130 state low\n130 done look spoken=150\n{END}")  # fmt: skip
    # said at 130 while the look reads at 132: 120 then was 50
    assert [concern.evidence.words for concern in scored.found] == [
        "At 2:10 you said rate was 150 /min; it was 50 /min."
    ]
    assert not scored.unsafe


def test_what_was_looked_for_and_not_said_is_told_as_that() -> None:
    # a look at 20 reads at 22: the record holds it, and denies no look
    sentence = item(TOLD, f"0 birth\n20 done look\n{END}").sentence
    assert "checked at 0:22, with no value recorded as called out;" in sentence


def test_a_value_may_be_near_the_reading_that_it_rests_on() -> None:
    # read at 92 (120), said at 105, when it was 50 already
    key = "- {expect: {know: rate, told: true}, from: birth, ideal: 200 s}"
    marked = item(key, f"0 birth\n90 done look\n100 state low\n105 done read_out spoken=120\n{END}")
    assert (marked.credit, marked.occasions[0].done_ms) == (1.0, 105_000)


def test_knowing_uses_nothing_up_and_its_role_is_who_revealed_it() -> None:
    key = (
        KNOW
        + "\n- {expect: look, from: birth, ideal: 30 s}\n"
        + KNOW.replace("}, from", "}, id: x, from")
    )
    scored = card(key, f"0 birth\n20 done look role=two\n{END}")
    assert [marked.credit for marked in scored.items] == [1.0, 1.0, 1.0]
    assert scored.items[0].role == "two"


def test_items_that_share_an_action_are_matched_together() -> None:
    # one call at 20, one swap at 40. Any of them by 30, and a call by 30: the call serves the item
    # that takes nothing else (1), the swap the other: (60 - 40) / 30 = 2/3; the other way round
    # would earn 1 + 0
    key = ANY + "\n- {expect: call, from: birth, ideal: 30 s}"
    scored = card(key, f"0 birth\n20 done call\n40 done swap\n{END}")
    assert [marked.credit for marked in scored.items] == [pytest.approx(2 / 3), 1.0]


def test_repeat_of_knowing_counts_a_sensor_all_the_time_that_it_reads() -> None:
    key = "- {repeat: {know: rate}, every: 30 s, grace: 15 s, during: [low]}"
    # low 100 to 300; the probe reads from 115 on, all of the time; 100 to 115 is not counted
    marked = item(key, f"100 state low\n110 start probe\n300 state idle\n{END}")
    assert (marked.credit, marked.verdict, marked.whole_ms) == (1.0, "kept", 185_000)
    # a look at 118 (reads at 120) covers 120 to 165; 145 to 300 counts, and 120 to 145
    once = item(key, f"100 state low\n118 done look\n300 state idle\n{END}")
    assert (once.part_ms, once.whole_ms) == (45_000, 180_000)


def test_repeat_with_told_asks_that_it_was_said_unless_a_sensor_streams() -> None:
    key = "- {repeat: {know: rate, told: true}, every: 30 s, grace: 15 s, during: [low]}"
    wrong = item(key, f"100 state low\n118 done look spoken=150\n300 state idle\n{END}")
    assert (wrong.credit, wrong.verdict) == (0.0, "told wrong")
    silent = item(key, f"100 state low\n118 done look\n300 state idle\n{END}")
    assert (silent.credit, silent.verdict) == (0.0, "missed")
    streams = item(key, f"100 state low\n110 start probe\n300 state idle\n{END}")
    assert streams.credit == 1.0
