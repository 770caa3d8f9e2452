"""``respond``, worked by hand: when an occasion opens, when it is dropped, what serves it.

Rate is 120 in ``idle``, 50 in ``low``, 150 in ``high``; colour (pink, pale, pink) is always seen.
"""

from __future__ import annotations

import pytest

from tests.scoring.case import item

END = "400 closed finished"
# Colour is seen without a sensor; rate is read by look (2 s later) and probe (from 5 s on).
WINDOW = "lasting: 30 s, ideal: 15 s, latest: 45 s"
PALE = f"- {{respond: press, whenever: {{observed: {{colour: pale}}}}, {WINDOW}"
SLOW = f"- {{respond: press, whenever: {{observed: {{rate: below 60 /min}}}}, {WINDOW}"


def test_it_opens_when_the_condition_has_held_for_lasting() -> None:
    # pale from 100, opens at a = 130; done at 160: d = 30: (45 - 30) / 30 = 0.5
    marked = item(PALE + "}", f"100 state low\n160 start press\n{END}")
    assert (marked.credit, marked.verdict) == (0.5, "late")
    assert marked.occasions[0].opened_ms == 130_000


def test_a_break_starts_the_count_again() -> None:
    # pale 100 to 120 and from 125 on: opens at 155
    record = f"100 state low\n120 state idle\n125 state low\n160 start press\n{END}"
    marked = item(PALE + "}", record)
    assert [occasion.opened_ms for occasion in marked.occasions] == [155_000]
    assert marked.credit == 1.0


def test_a_condition_that_ends_at_the_very_instant_opens_nothing() -> None:
    # at 130 the condition no longer holds: people's events and entries come before guards
    assert item(PALE + "}", f"100 state low\n130 state idle\n{END}").credit is None
    marked = item(PALE + ", even_if_resolved: true}", f"100 state low\n130.001 state idle\n{END}")
    assert marked.credit == 0.0


def test_it_is_dropped_if_the_condition_ends_before_ideal_with_nothing_done() -> None:
    # a + ideal = 145
    marked = item(PALE + "}", f"100 state low\n144.999 state idle\n150 start press\n{END}")
    assert (marked.credit, marked.verdict) == (None, "not reached")
    kept = item(PALE + "}", f"100 state low\n145 state idle\n160 start press\n{END}")
    # once a + ideal has passed the delay alone counts: d = 30: 0.5
    assert kept.credit == 0.5


def test_what_was_done_by_the_end_of_the_condition_counts() -> None:
    marked = item(PALE + "}", f"100 state low\n140 start press\n140 state idle\n{END}")
    assert marked.credit == 1.0


def test_even_if_resolved_goes_on_asking() -> None:
    record = f"100 state low\n135 state idle\n160 start press\n{END}"
    assert item(PALE + ", even_if_resolved: true}", record).credit == 0.5
    assert item(PALE + "}", record).credit is None


def test_what_was_done_since_the_condition_began_has_no_delay() -> None:
    key = PALE.replace("press", "call") + "}"
    marked = item(key, f"100 state low\n110 done call\n{END}")
    assert (marked.credit, marked.occasions[0].delay_ms) == (1.0, 0)
    # done before the condition began it is no performance of this occasion
    assert item(key, f"99 done call\n100 state low\n{END}").verdict == "missed"


def test_a_lasting_action_still_running_at_the_opening_serves_it() -> None:
    assert item(PALE + "}", f"50 start press\n100 state low\n{END}").credit == 1.0
    assert item(PALE + "}", f"50 start press\n99 stop press\n100 state low\n{END}").credit == 0.0


def test_each_stretch_is_an_occasion() -> None:
    key = PALE.replace("press", "call") + "}"
    record = f"""
    100 state low
    135 done call
    200 state idle
    220 state low
    {END}
    """
    # opened at 130 and 250: 1 and 0
    marked = item(key, record)
    assert [occasion.credit for occasion in marked.occasions] == [1.0, 0.0]
    assert (marked.credit, marked.verdict) == (0.5, "missed")


def test_without_a_reading_nothing_opens() -> None:
    assert item(SLOW + "}", f"100 state low\n{END}").credit is None
    assert item(SLOW + ", unseen: true}", f"100 state low\n{END}").credit == 0.0


def test_it_opens_at_the_reading_if_that_comes_later() -> None:
    # low from 100; looked at 150, read 2 s later: opens at 152, not at 130
    marked = item(SLOW + "}", f"100 state low\n150 done look\n160 start press\n{END}")
    assert marked.occasions[0].opened_ms == 152_000
    assert marked.credit == 1.0


def test_a_reading_before_the_condition_was_true_opens_nothing() -> None:
    # read at 92 (rate 120): a snapshot, and not of a slow rate
    assert item(SLOW + "}", f"90 done look\n100 state low\n{END}").credit is None


def test_an_early_reading_within_the_stretch_opens_at_lasting() -> None:
    marked = item(SLOW + "}", f"100 state low\n105 done look\n{END}")
    assert marked.occasions[0].opened_ms == 130_000


def test_a_sensor_that_streams_reads_all_the_time() -> None:
    # on at 10, reads from 15 on: at the very beginning of the stretch too
    marked = item(SLOW + "}", f"10 start probe\n100 state low\n{END}")
    assert marked.occasions[0].opened_ms == 130_000
    # on at 140: reads at 145
    later = item(SLOW + "}", f"100 state low\n140 start probe\n{END}")
    assert later.occasions[0].opened_ms == 145_000
    # taken off before the stretch
    gone = item(SLOW + "}", f"10 start probe\n99 stop probe\n100 state low\n{END}")
    assert gone.credit is None


def test_each_observation_of_a_condition_must_have_been_read() -> None:
    key = """
    - respond: press
      whenever: {observed: {rate: below 60 /min, level: at most 20 %}}
      lasting: 30 s
      ideal: 15 s
    """
    assert item(key, f"100 state low\n105 done look\n{END}").credit is None
    marked = item(key, f"100 state low\n105 done look\n140 done sample\n{END}")
    assert marked.occasions[0].opened_ms == 140_000


def test_of_any_one_branch_that_was_read_is_enough() -> None:
    key = """
    - respond: press
      whenever: {any: [{observed: {rate: below 60 /min}}, {observed: {level: at most 20 %}}]}
      lasting: 30 s
      ideal: 15 s
    """
    marked = item(key, f"100 state low\n140 done sample\n{END}")
    assert marked.occasions[0].opened_ms == 140_000


def test_doing_is_needed_to_begin_and_not_to_go_on() -> None:
    key = """
    - respond: call
      whenever: {doing: pump, observed: {colour: pale}}
      lasting: 30 s
      ideal: 15 s
    """
    # begins at 110 with the pump; the pause from 120 to 130 does not break it: opens at 140
    record = f"100 state low\n110 start pump\n120 stop pump\n130 start pump\n{END}"
    assert item(key, record).occasions[0].opened_ms == 140_000
    # without the pump it never begins
    assert item(key, f"100 state low\n{END}").credit is None


def test_settings_are_needed_to_begin_and_not_to_go_on() -> None:
    key = """
    - respond: call
      whenever: {settings: {pressure: at least 40 cmH2O}, observed: {colour: pale}}
      lasting: 30 s
      ideal: 15 s
    """
    record = f"100 state low\n110 set pressure=40\n120 set pressure=20\n{END}"
    assert item(key, record).occasions[0].opened_ms == 140_000


def test_a_condition_of_doing_alone_goes_on_once_it_has_begun() -> None:
    key = "- {respond: call, whenever: {doing: pump}, lasting: 30 s, ideal: 15 s}"
    # begun at 10, stopped at 20: asked at 40 all the same, and once only
    record = f"10 start pump\n20 stop pump\n100 start pump\n{END}"
    marked = item(key, record)
    assert [occasion.opened_ms for occasion in marked.occasions] == [40_000]


def test_stretches_are_cut_to_during() -> None:
    key = PALE + ", during: [idle]}"
    assert item(key, f"100 state low\n{END}").credit is None
    pink = """
    - respond: press
      whenever: {observed: {colour: pink}}
      lasting: 30 s
      ideal: 15 s
      during: [high]
    """
    # pink in idle and high; cut to high (from 100): opens at 130
    marked = item(pink, f"100 state high\n{END}")
    assert marked.occasions[0].opened_ms == 130_000


def test_adjoining_states_of_during_make_one_stay() -> None:
    key = """
    - respond: press
      whenever: {observed: {colour: pink}}
      lasting: 30 s
      ideal: 15 s
      during: [idle, high]
    """
    # idle from 0, high from 20: one stretch, opens at 30 and not again at 50
    marked = item(key, f"20 state high\n{END}")
    assert [occasion.opened_ms for occasion in marked.occasions] == [30_000]


def test_closing_before_ideal_is_not_reached() -> None:
    assert item(PALE + "}", "100 state low\n144 closed stopped early").credit is None
    assert item(PALE + "}", "100 state low\n145 closed stopped early").credit == 0.0


def test_an_occasion_opened_only_by_a_late_entry_is_dropped() -> None:
    key = """
    - respond: call
      whenever: {doing: pump, observed: {colour: pale}}
      lasting: 30 s
      ideal: 15 s
    """
    # the start at 110 was written down at 150, after a = 140: dropped
    late = f"100 state low\n110 start pump noted=150\n{END}"
    assert item(key, late).credit is None
    # written down at 139 the team's recorder knew of it before a = 140
    known = f"100 state low\n110 start pump noted=139\n{END}"
    assert item(key, known).verdict == "missed"


def test_a_late_entry_changes_nothing_where_another_opened_the_occasion() -> None:
    key = """
    - respond: call
      whenever: {observed: {colour: pale}, any: [{doing: pump}, {doing: press}]}
      lasting: 30 s
      ideal: 15 s
    """
    # without the pump, written down at 150, the press would have opened it at 112 + 30 = 142
    record = f"100 state low\n112 start press\n110 start pump noted=150\n{END}"
    assert item(key, record).verdict == "missed"


def test_a_change_of_a_setting_is_measured_from_the_beginning_of_the_condition() -> None:
    key = """
    - respond: {set: oxygen, change: higher}
      whenever: {observed: {colour: pale}}
      lasting: 30 s
      ideal: 15 s
      latest: 45 s
    """
    # 30 when it began at 100; 60 by 110 already: d = 0
    record = f"10 set oxygen=30\n100 state low\n110 set oxygen=60\n{END}"
    assert item(key, record).credit == 1.0
    # 160: d = 30: 0.5
    assert item(key, f"10 set oxygen=30\n100 state low\n160 set oxygen=60\n{END}").credit == 0.5


def test_two_occasions_share_no_performance() -> None:
    key = """
    - respond: call
      whenever: {observed: {colour: pale}}
      lasting: 10 s
      ideal: 60 s
      even_if_resolved: true
    """
    # opened at 110 and 125; one call at 130 meets both windows, and serves the first
    record = f"100 state low\n112 state idle\n115 state low\n130 done call\n{END}"
    assert [occasion.credit for occasion in item(key, record).occasions] == [1.0, 0.0]


@pytest.mark.parametrize("way", ["said", "ordered"])
def test_saying_it_is_attempted(way: str) -> None:
    key = PALE.replace("press", "call") + "}"
    assert item(key, f"100 state low\n135 done call how={way}\n{END}").verdict == "attempted"
