"""Which values teams set, and what a condition needs of them."""

from math import inf
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from simengine.pilot.needs import Eyes, missing
from simengine.pilot.values import is_right, moved_value, right_value, wanted_now, wrong_value
from simengine.quantities import Range
from simengine.scenario.conditions import All, AnyOf, Doing, Done, Not, Observed, SettingIs
from simengine.scenario.vocabulary import Setting
from simengine.scenario.wanted import OneOf, Steps

DIAL = Setting("dial", "Dial", "cmH2O", 2.0, Range(0.0, 60.0), 1.0)
SWITCH = Setting("switch", "Switch", words=("off", "on"))


def test_a_bare_figure_is_set_to_itself() -> None:
    assert right_value(Range(28.0, 32.0, text="30 cmH2O"), DIAL) == 30.0


def test_an_open_end_is_passed_by_a_step_and_a_closed_one_met() -> None:
    assert right_value(Range(low=35.0), DIAL) == 35.0
    assert right_value(Range(low=35.0, low_open=True), DIAL) == 36.0
    assert right_value(Range(high=20.0, high_open=True), DIAL) == 19.0


@given(st.floats(0, 50), st.floats(0.5, 10), st.integers())
def test_a_right_value_is_right_and_a_wrong_one_is_not(low: float, width: float, seed: int) -> None:
    wanted = Range(low, low + width)
    assert is_right(right_value(wanted, DIAL), wanted)
    wrong = wrong_value(wanted, DIAL, Random(seed))
    assert wrong is None or (not is_right(wrong, wanted) and 0.0 <= float(wrong) <= 60.0)


def test_a_switch_that_is_off_the_mark_stands_at_another_word() -> None:
    assert right_value(OneOf(("on",)), SWITCH) == "on"
    assert wrong_value(OneOf(("on",)), SWITCH, Random(1)) == "off"
    assert wrong_value(OneOf(("on", "off")), SWITCH, Random(1)) is None


def test_where_every_plausible_value_is_wanted_none_is_wrong() -> None:
    assert wrong_value(Range(-inf, inf), DIAL, Random(1)) is None


def test_a_dial_is_moved_by_its_tolerance_and_stays_plausible() -> None:
    assert moved_value(30.0, DIAL, "higher") == 32.0
    assert moved_value(1.0, DIAL, "lower") == 0.0


def test_what_is_wanted_by_the_minute_is_the_last_row_reached() -> None:
    steps = Steps(((60_000, Range(60.0, 65.0)), (120_000, Range(65.0, 70.0))), "target")
    assert wanted_now(steps, None) is None
    assert wanted_now(steps, 59_999) is None
    assert wanted_now(steps, 119_999) == Range(60.0, 65.0)
    assert wanted_now(steps, 120_000) == Range(65.0, 70.0)


def nothing(*met: object, seen: bool = True) -> Eyes:
    return Eyes(lambda need: need in met, lambda _: seen)


AIR, MASK, TUBE = Doing("air"), Done("mask"), Doing("tube")
HIGH = SettingIs("dial", Range(low=35.0))
SLOW = Observed("pulse", Range(high=60.0))


def test_all_that_is_missing_is_needed_in_the_order_written() -> None:
    assert missing(All((AIR, HIGH, MASK)), nothing(MASK)) == [AIR, HIGH]


def test_of_several_ways_the_nearest_is_taken() -> None:
    way = All((MASK, AIR))
    assert missing(AnyOf((way, TUBE)), nothing()) == [TUBE]
    assert missing(AnyOf((way, TUBE)), nothing(MASK)) == [AIR]
    assert missing(AnyOf((way, TUBE)), nothing(MASK, AIR)) == []


def test_a_dial_that_waits_for_a_sign_is_not_turned_before_it() -> None:
    both = All((AIR, SLOW, HIGH))
    assert missing(both, nothing(seen=False)) == [AIR]
    assert missing(both, nothing(seen=True)) == [AIR, HIGH]


def test_what_is_not_in_the_teams_hands_is_not_needed() -> None:
    assert missing(SLOW, nothing()) == []
    assert missing(Not(SLOW), nothing()) == []
    assert missing(Not(AIR), nothing()) == [Not(AIR)]
