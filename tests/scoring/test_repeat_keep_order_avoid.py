"""``repeat``, ``keep``, ``order`` and ``avoid``, worked by hand."""

from __future__ import annotations

from math import copysign

import pytest

from tests.scoring.case import card, item

# every + grace = 45 s
LOOK = "- {repeat: look, every: 30 s, grace: 15 s, during: [low]"


def test_covered_time_over_time_that_counts() -> None:
    # low 100 to 300. Looks at 120 and 200 cover 120-165 and 200-245: 90 s. Of the first 45 s
    # (100-145) 25 are covered and 20 count in neither sum. 90 / (200 - 20) = 0.5
    marked = item(LOOK + "}", "100 state low\n120 done look\n200 done look\n300 state idle")
    assert marked.credit == 0.5
    assert (marked.part_ms, marked.whole_ms) == (90_000, 180_000)
    assert marked.verdict == "partly"


def test_a_performance_before_the_stay_covers_too() -> None:
    # look at 90 covers to 135: 35 s of the first 45; 10 s count in neither sum. 35 / (200 - 10)
    marked = item(LOOK + "}", "90 done look\n100 state low\n300 state idle")
    assert marked.credit == pytest.approx(35 / 190)


def test_never_done_earns_nothing_of_the_time_after_the_first_window() -> None:
    marked = item(LOOK + "}", "100 state low\n300 state idle")
    assert (marked.credit, marked.verdict) == (0.0, "missed")
    assert marked.whole_ms == 155_000


def test_a_stay_no_longer_than_the_window_does_not_count() -> None:
    assert item(LOOK + "}", "100 state low\n145 state idle\n200 closed finished").credit is None
    assert item(LOOK + "}", "100 state low\n145.001 state idle\n200 closed finished").credit == 0.0


def test_adjoining_states_are_one_stay() -> None:
    key = "- {repeat: look, every: 30 s, grace: 15 s, during: [low, high]}"
    # two stays of 40 s each are one of 80: 80 - 45 = 35 s count
    marked = item(key, "100 state low\n140 state high\n180 state idle\n200 closed finished")
    assert marked.whole_ms == 35_000


def test_a_lasting_action_covers_while_it_runs_and_for_the_window_after() -> None:
    key = "- {repeat: pump, every: 30 s, grace: 15 s, during: [low]}"
    # runs 100 to 200, covers to 245; low 100 to 300: 145 / 200
    marked = item(key, "100 state low\n100 start pump\n200 stop pump\n300 state idle")
    assert marked.credit == pytest.approx(145 / 200)


def test_throughout_is_kept() -> None:
    marked = item(LOOK + "}", "99 done look\n100 state low\n140 done look\n160 state idle")
    assert (marked.credit, marked.verdict) == (1.0, "kept")


def test_only_ways_that_count_cover() -> None:
    marked = item(LOOK + "}", "100 state low\n110 done look how=ordered\n300 state idle")
    assert (marked.credit, marked.verdict) == (0.0, "attempted")


def test_spoken_wants_the_value_told() -> None:
    key = LOOK + ", spoken: true}"
    # covers 120-165 only if told; (45) / (200 - 20)
    record = "100 state low\n120 done look spoken=50\n300 state idle"
    assert item(key, record).credit == pytest.approx(45 / 180)
    assert item(key, "100 state low\n120 done look\n300 state idle").credit == 0.0


def test_spoken_is_not_needed_while_a_sensor_streams() -> None:
    key = LOOK + ", spoken: true}"
    record = "10 start probe\n100 state low\n120 done look\n300 state idle"
    assert item(key, record).credit == pytest.approx(45 / 180)


def test_an_oximeter_put_on_is_not_a_reading_taken() -> None:
    key = LOOK + ", spoken: true}"
    assert item(key, "10 start probe\n100 state low\n300 state idle").credit == 0.0


# keep


def test_keep_is_the_share_of_the_time_over_the_share_asked() -> None:
    key = "- {keep: {settings: {pressure: at most 30 cmH2O}}, during: [low], share: 90 %}"
    # low 100 to 200; over 30 from 150 to 175: 75 s of 100 kept; 0.75 / 0.9
    record = "100 state low\n150 set pressure=40\n175 set pressure=30\n200 state idle"
    marked = item(key, record)
    assert marked.credit == pytest.approx(0.75 / 0.9)
    assert marked.verdict == "partly"
    # 95 of 100: min(1, 0.95 / 0.9) = 1
    most = "100 state low\n150 set pressure=40\n155 set pressure=30\n200 state idle"
    assert (item(key, most).credit, item(key, most).verdict) == (1.0, "kept")


def test_no_time_in_during_is_not_reached() -> None:
    key = "- {keep: {settings: {pressure: at most 30 cmH2O}}, during: [low]}"
    assert item(key, "100 done call").credit is None


def test_kept_only_as_found_is_not_reached() -> None:
    key = "- {keep: {settings: {pressure: at most 30 cmH2O}}, during: [low]}"
    assert item(key, "100 state low\n200 state idle").credit is None
    # touched before the end of during, even with the same value
    assert item(key, "100 state low\n150 set pressure=20\n200 state idle").credit == 1.0
    # touched only afterwards
    assert item(key, "100 state low\n200 state idle\n210 set pressure=25").credit is None
    counts = "- {keep: {settings: {pressure: at most 30 cmH2O}}, during: [low], as_found: counts}"
    assert item(counts, "100 state low\n200 state idle").credit == 1.0


def test_a_start_setting_that_is_wrong_and_left_so_is_not_kept() -> None:
    key = "- {keep: {settings: {pressure: at least 30 cmH2O}}, during: [low]}"
    marked = item(key, "100 state low\n200 state idle")
    assert (marked.credit, marked.verdict) == (0.0, "missed")


def test_a_condition_on_what_is_not_known_is_false_and_not_of_it_true() -> None:
    whenever = "- {{respond: call, whenever: {}, lasting: 10 s, ideal: 15 s, unseen: true}}"
    known = whenever.format("{settings: {oxygen: at most 50 %}}")
    assert item(known, "100 closed finished").credit is None
    # not (unknown) is true from the start: asked at 10 s, nothing done
    negated = whenever.format("{not: {settings: {oxygen: above 50 %}}}")
    assert item(negated, "100 closed finished").verdict == "missed"


def test_time_in_which_a_setting_was_never_known_is_in_neither_sum_of_keep() -> None:
    key = "- {keep: {settings: {oxygen: at most 50 %}}}"
    unknown = item(key, "100 closed finished")
    assert (unknown.credit, unknown.verdict, unknown.unrecorded) == (None, "not recorded", True)
    # known from 40 s: 60 of 100 s count, and it holds for 30 of them
    marked = item(key, "40 set oxygen=40\n70 set oxygen=60\n100 closed finished")
    assert (marked.credit, marked.whole_ms) == (0.5, 60_000)


def test_what_was_done_in_other_ways_is_not_running() -> None:
    key = "- {keep: {doing: pump}}"
    assert item(key, "0 start pump how=said\n100 closed finished").credit == 0.0


# order


@pytest.mark.parametrize(
    ("record", "credit"),
    [
        ("10 done look\n20 done call\n30 done swap", 1.0),
        ("10 done look\n20 done call", 1.0),  # nothing asks for the swap: its pair is left out
        ("10 done look", None),  # no pair is left
        ("10 done swap", -0.0),  # call, swap: the call never; look, call is left out
        ("10 done look\n30 done swap", -0.0),  # the same
        ("20 done look\n10 done call", 0.0),
        ("20 done look\n20 done call", 1.0),  # equal times are in order
        ("20 done call\n20 done look", 1.0),
        ("10 done look\n20 done call\n30 done look", 1.0),  # first performances alone
        ("", None),
        ("10 done look how=said\n20 done call", -0.0),
    ],
)
def test_order(record: str, credit: float | None) -> None:
    marked = item("- {order: [look, call, swap]}", f"{record}\n400 closed finished")
    assert marked.credit == credit
    missed = credit is not None and copysign(1.0, credit) < 0
    verdicts = {1.0: "in order", 0.0: "missed" if missed else "out of order", None: "not reached"}
    assert marked.verdict == verdicts[credit]


def test_the_last_alone_is_in_order_where_none_comes_before_it() -> None:
    assert item("- {order: [look, call]}", "10 done look\n20 done call").credit == 1.0


def test_order_within_during_looks_at_that_time_alone() -> None:
    key = "- {order: [look, call], during: [low]}"
    # the call at 50 was before low; within it look, then call
    record = "50 done call\n100 state low\n110 done look\n120 done call\n200 state idle"
    assert item(key, record).credit == 1.0
    # at the very entry the look belongs to the state that is left
    edge = "100 done look\n100 state low\n120 done call\n200 state idle"
    assert item(key, edge).credit == 0.0


# avoid


def test_each_time_that_it_is_done_takes_its_deduction() -> None:
    key = """
    - {expect: call, from: birth, ideal: 60 s}
    - {avoid: swap, deduct: 5 %}
    """
    scored = card(key, "0 birth\n10 done call\n20 done swap\n30 done swap\n400 closed finished")
    # 1 - 2 x 0.05
    assert scored.total == pytest.approx(0.9)
    assert (scored.deductions[0].occurrences, scored.deductions[0].amount) == (2, 0.1)
    assert scored.items[1].verdict == "done in error"
    assert scored.items[1].applied is False


def test_at_most_caps_the_deduction() -> None:
    key = """
    - {expect: call, from: birth, ideal: 60 s}
    - {avoid: swap, deduct: 5 %, at_most: 8 %}
    """
    record = "0 birth\n10 done call\n20 done swap\n30 done swap\n40 done swap\n400 closed finished"
    assert card(key, record).total == pytest.approx(0.92)


def test_the_total_is_floored_at_nothing() -> None:
    key = """
    - {expect: call, from: birth, ideal: 60 s}
    - {avoid: swap, deduct: 50 %}
    """
    assert card(key, "0 birth\n20 done swap\n400 closed finished").total == 0.0


def test_during_says_where_it_is_not_advised() -> None:
    key = "- {avoid: swap, during: [low]}"
    # at 100 it belongs to idle, at 200 to low
    record = "100 done swap\n100 state low\n200 done swap\n200 state idle\n250 done swap"
    deduction = card(key, record).deductions[0]
    assert deduction.occurrences == 1
    assert deduction.evidence[0].at_ms == 200_000


def test_each_unbroken_stretch_of_a_condition_is_one_occurrence() -> None:
    key = "- {avoid: {settings: {pressure: above 35 cmH2O}}, lasting: 10 s}"
    # 20-29.999 too short, 40-50 just long enough, 60-100
    record = """
    20 set pressure=40
    29.999 set pressure=30
    40 set pressure=40
    50 set pressure=30
    60 set pressure=40
    100 closed finished
    """
    deduction = card(key, record).deductions[0]
    assert [proof.at_ms for proof in deduction.evidence] == [40_000, 60_000]


def test_a_stretch_is_cut_to_during() -> None:
    key = "- {avoid: {settings: {pressure: above 35 cmH2O}}, lasting: 10 s, during: [low]}"
    # over from 50 to 200; low 100 to 109: 9 s within it
    record = "50 set pressure=40\n100 state low\n109 state idle\n200 set pressure=20"
    assert not card(key, record).deductions


def test_an_action_that_runs_for_too_long_is_a_condition() -> None:
    key = "- {avoid: {doing: pump}, lasting: 10 s}"
    record = "10 start pump\n15 stop pump\n20 start pump\n30 stop pump\n400 closed finished"
    assert card(key, record).deductions[0].occurrences == 1


def test_what_did_not_occur_takes_nothing() -> None:
    scored = card("- {avoid: swap}", "10 done swap how=said\n400 closed finished")
    assert not scored.deductions
    assert scored.items[0].verdict == "not done"
    assert scored.total is None
