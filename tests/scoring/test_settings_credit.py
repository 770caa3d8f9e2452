"""Settings, doses and changes of settings, worked by hand."""

from __future__ import annotations

import pytest

from simengine.quantities import Range
from simengine.scoring.doses import tenfold
from simengine.scoring.parts import value_credit
from tests.scoring.case import card, item

END = "400 closed finished"


def pump(settings: str, more: str = "") -> str:
    return f"- {{expect: pump, from: birth, ideal: 60 s, settings: {{{settings}}}{more}}}"


def dose(asked: str) -> str:
    return f"- {{expect: give, from: birth, ideal: 60 s, {asked}}}"


@pytest.mark.parametrize(
    ("value", "credit"),
    # 28 to 32, tolerance 4: inside 1; 33: e = 1, 1 - 1/4; 36: e = 4, 0; 25: e = 3, 1 - 3/4
    [(28, 1.0), (30, 1.0), (32, 1.0), (33, 0.75), (36, 0.0), (40, 0.0), (25, 0.25)],
)
def test_outside_the_range_credit_falls_over_the_tolerance(value: float, credit: float) -> None:
    marked = item(
        pump("pressure: 28 to 32 cmH2O"), f"0 birth\n30 start pump pressure={value}\n{END}"
    )
    assert marked.credit == credit
    assert marked.verdict == ("on time" if credit == 1.0 else "setting off")


def test_a_bare_value_is_the_range_of_the_tolerance_to_both_sides() -> None:
    # 30 is 26 to 34; 36: e = 2, 1 - 2/4 = 0.5
    key = pump("pressure: 30 cmH2O")
    assert item(key, f"0 birth\n30 start pump pressure=34\n{END}").credit == 1.0
    assert item(key, f"0 birth\n30 start pump pressure=36\n{END}").credit == 0.5


def test_without_tolerance_outside_is_nothing() -> None:
    key = pump("strict: at most 50 %")
    assert item(key, f"0 birth\n10 set strict=50\n30 start pump\n{END}").credit == 1.0
    assert item(key, f"0 birth\n10 set strict=50.1\n30 start pump\n{END}").credit == 0.0


def test_an_open_end_met_exactly_is_outside() -> None:
    # tolerance 0: nothing
    key = pump("strict: above 50 %")
    marked = item(key, f"0 birth\n10 set strict=50\n30 start pump\n{END}")
    assert (marked.credit, marked.verdict) == (0.0, "setting off")
    # tolerance 10 %: e = 0, so 1 - 0/10 = 1, and yet it is outside
    soft = item(pump("oxygen: below 40 %"), f"0 birth\n10 set oxygen=40\n30 start pump\n{END}")
    assert (soft.credit, soft.verdict) == (1.0, "setting off")
    # and so for a change
    change = "- {expect: {set: oxygen, to: below 40 %}, from: birth, ideal: 60 s}"
    assert item(change, f"0 birth\n30 set oxygen=40\n{END}").verdict == "missed"
    # where that end is 0 its credit is 0
    none = item(pump("oxygen: above 0 %"), f"0 birth\n10 set oxygen=0\n30 start pump\n{END}")
    assert (none.credit, none.verdict) == (0.0, "setting off")


def test_ends_compare_within_a_billionth() -> None:
    wanted = Range(high=0.3)
    assert value_credit(0.1 + 0.2, wanted, 0.0) == 1.0
    assert value_credit(0.3 + 1e-8, wanted, 0.0) == 0.0


def test_the_credit_is_the_mean_over_the_settings() -> None:
    # pressure 33: 0.75; oxygen 21 to 30 %, tolerance 10: 35: 1 - 5/10 = 0.5; mean 0.625
    key = pump("pressure: 28 to 32 cmH2O, oxygen: 21 to 30 %")
    marked = item(key, f"0 birth\n30 start pump pressure=33 oxygen=35\n{END}")
    assert marked.credit == 0.625


def test_late_and_off_reads_late_and_names_both() -> None:
    key = pump("pressure: 28 to 32 cmH2O", ", latest: 90 s")
    # time (90 - 75) / 30 = 0.5; setting 0.75; credit 0.375
    marked = item(key, f"0 birth\n75 start pump pressure=33\n{END}")
    assert (marked.credit, marked.verdict) == (0.375, "late")
    assert "1:15" in marked.sentence
    assert "33 cmH2O" in marked.sentence
    occasion = marked.occasions[0]
    assert (occasion.time_credit, occasion.settings_credit) == (0.5, 0.75)


def test_the_value_is_the_one_in_force_at_the_instant_that_counts() -> None:
    key = pump("pressure: 28 to 32 cmH2O")
    # begun before birth with 36 and lowered to 30 before it: at a = 50 it is 30
    running = item(key, f"10 start pump pressure=36\n40 set pressure=30\n50 birth\n{END}")
    assert running.credit == 1.0
    # set right only after the start: 36 at the start, e = 4
    later = item(key, f"0 birth\n30 start pump pressure=36\n31 set pressure=30\n{END}")
    assert (later.credit, later.verdict) == (0.0, "setting off")


def test_what_is_set_at_the_very_instant_counts() -> None:
    key = pump("pressure: 28 to 32 cmH2O")
    assert item(key, f"0 birth\n30 start pump\n30 set pressure=30\n{END}").credit == 1.0


def test_the_value_is_converted_from_the_unit_it_was_read_in() -> None:
    key = pump("pressure: at most 3 kPa")
    # 30 cmH2O = 30 x 98.0665 Pa = 2.942 kPa (NIST SP 811, Appendix B)
    assert item(key, f"0 birth\n30 start pump pressure=30\n{END}").credit == 1.0


def test_a_setting_never_known_takes_the_first_value_set_soon_after() -> None:
    key = pump("oxygen: 21 to 30 %")
    # settle is 10 s by default: 40 counts, 40.001 does not
    assert item(key, f"0 birth\n30 start pump\n40 set oxygen=25\n{END}").credit == 1.0
    late = item(key, f"0 birth\n30 start pump\n40.001 set oxygen=25\n{END}")
    # all unknown: the credit is the time credit
    assert (late.credit, late.verdict) == (1.0, "not recorded")
    longer = pump("oxygen: 21 to 30 %", ", settle: 20 s")
    assert item(longer, f"0 birth\n30 start pump\n45 set oxygen=25\n{END}").credit == 1.0


def test_settle_is_for_what_was_never_known_alone() -> None:
    key = pump("oxygen: 21 to 30 %")
    marked = item(key, f"0 birth\n10 set oxygen=60\n30 start pump\n32 set oxygen=25\n{END}")
    assert (marked.credit, marked.verdict) == (0.0, "setting off")


def test_not_recorded_is_told_apart_from_wrong() -> None:
    marked = item(pump("oxygen: 21 to 30 %"), f"0 birth\n30 start pump\n{END}")
    # it leaves the mean; nobody is blamed for what was not written down
    assert (marked.credit, marked.verdict, marked.unrecorded) == (1.0, "not recorded", True)
    assert "not recorded" in marked.sentence
    assert not marked.occasions[0].settings[0].recorded
    both = pump("oxygen: 21 to 30 %, pressure: 28 to 32 cmH2O")
    # oxygen unknown leaves the mean; pressure 20: e = 8 of t = 4, 0
    off = item(both, f"0 birth\n30 start pump\n{END}")
    assert (off.credit, off.verdict, off.unrecorded) == (0.0, "setting off", True)
    # pressure right: 1, with a mark for what is unknown
    right = item(both, f"0 birth\n30 start pump pressure=30\n{END}")
    assert (right.credit, right.verdict, right.unrecorded) == (1.0, "on time", True)


def test_a_setting_whose_kit_was_not_there_leaves_the_mean() -> None:
    key = pump("oxygen: 21 to 30 %, pressure: 28 to 32 cmH2O")
    record = f"0 birth\n5 unavailable setting=oxygen\n30 start pump pressure=30\n{END}"
    assert item(key, record).credit == 1.0


def test_a_word_is_right_or_not() -> None:
    key = "- {expect: press, from: birth, ideal: 60 s, settings: {mode: high}}"
    assert item(key, f"0 birth\n30 start press mode=high\n{END}").credit == 1.0
    assert item(key, f"0 birth\n30 start press mode=low\n{END}").verdict == "setting off"


def test_a_range_by_the_clock_is_the_row_of_the_last_minute_reached() -> None:
    key = """
    - expect: pump
      from: birth
      ideal: 200 s
      settings: {oxygen: {protocol: oxygen_by_clock}}
    """
    # 1 min: 40 to 50; 2 min: 20 to 30; tolerance 10
    assert item(key, f"0 birth\n60 start pump oxygen=45\n{END}").credit == 1.0
    assert item(key, f"0 birth\n119.999 start pump oxygen=45\n{END}").credit == 1.0
    # at 120 s the second row: e = 45 - 30 = 15 > 10
    assert item(key, f"0 birth\n120 start pump oxygen=45\n{END}").credit == 0.0
    # before the first row nothing is asked
    assert item(key, f"0 birth\n59 start pump oxygen=99\n{END}").credit == 1.0


# Doses: 2 kg; tolerance 5 mcg/kg, strength 0.05 mg/mL, flush 2 mL.


def test_a_dose_is_compared_per_kilogram() -> None:
    key = dose("dose: 20 to 30 mcg/kg")
    # 50 mcg / 2 kg = 25 mcg/kg; 0.09 mg / 2 kg = 45: (2 x 30 - 45) / (2 x 30 - 30) = 0.5
    assert item(key, f"0 birth\n30 done give amount=50_mcg\n{END}").credit == 1.0
    assert item(key, f"0 birth\n30 done give amount=0.09_mg\n{END}").credit == pytest.approx(0.5)
    assert item(key, f"0 birth\n30 done give amount=25_mcg/kg\n{END}").credit == 1.0


def test_a_dose_is_worked_out_from_volume_and_strength() -> None:
    key = dose("dose: 20 to 30 mcg/kg")
    # 0.5 mL x 0.1 mg/mL = 50 mcg, / 2 kg = 25 mcg/kg
    record = f"0 birth\n30 done give volume=0.5_mL strength=0.1_mg/mL\n{END}"
    assert item(key, record).credit == 1.0
    unknown = item(key, f"0 birth\n30 done give volume=0.5_mL\n{END}")
    assert unknown.verdict == "not recorded"


def test_the_amount_decides_times_the_mean_of_route_strength_and_flush() -> None:
    key = dose("dose: 20 to 30 mcg/kg, routes: [vein, bone], strength: 0.1 mg/mL, flush: 3 to 5 mL")
    # dose 25: 1; tube is no route asked: 0; 0.1: 1; flush 2: e = 1, t = 2: 0.5; 1 x mean 1.5/3
    record = (
        f"0 birth\n30 done give amount=25_mcg/kg route=tube strength=0.1_mg/mL flush=2_mL\n{END}"
    )
    marked = item(key, record)
    assert marked.credit == 0.5
    assert marked.verdict == "setting off"
    # flush and route not recorded: they leave the mean, with a mark
    bare = item(key, f"0 birth\n30 done give amount=25_mcg/kg strength=0.1_mg/mL\n{END}")
    assert (bare.credit, bare.verdict, bare.unrecorded) == (1.0, "on time", True)


def test_the_range_may_depend_on_the_route() -> None:
    key = dose("dose: {vein: 20 to 30 mcg/kg, tube: 100 mcg/kg}")
    assert item(key, f"0 birth\n30 done give amount=100_mcg/kg route=tube\n{END}").credit == 1.0
    assert item(key, f"0 birth\n30 done give amount=100_mcg/kg route=vein\n{END}").credit == 0.0
    assert item(key, f"0 birth\n30 done give amount=25_mcg/kg route=bone\n{END}").credit == 0.0
    # without a route the range that suits best
    no_route = item(key, f"0 birth\n30 done give amount=25_mcg/kg\n{END}")
    assert (no_route.credit, no_route.verdict, no_route.unrecorded) == (1.0, "on time", True)


def test_a_tenfold_slip_is_a_finding_of_its_own() -> None:
    key = dose("dose: 20 to 30 mcg/kg")
    scored = card(key, f"0 birth\n30 done give amount=250_mcg/kg\n{END}")
    assert len(scored.slips) == 1
    assert "about ten times" in scored.slips[0].words
    assert scored.items[0].occasions[0].settings[0].tenfold == "about ten times"
    assert not card(key, f"0 birth\n30 done give amount=60_mcg/kg\n{END}").slips


@pytest.mark.parametrize(
    ("value", "words"),
    # 20 to 30: 8 x 20 = 160 to 12.5 x 30 = 375; 20 / 12.5 = 1.6 to 30 / 8 = 3.75
    [
        (159.0, ""),
        (160.0, "about ten times"),
        (375.0, "about ten times"),
        (376.0, ""),
        (1.59, ""),
        (1.6, "about a tenth of"),
        (3.75, "about a tenth of"),
        (3.8, ""),
        (25.0, ""),
    ],
)
def test_where_a_tenfold_slip_begins_and_ends(value: float, words: str) -> None:
    assert tenfold(value, Range(20.0, 30.0)) == words


def test_an_open_range_takes_its_one_end_for_a_tenfold_slip() -> None:
    # at most 30: 240 to 375
    assert tenfold(300.0, Range(high=30.0)) == "about ten times"
    assert tenfold(40.0, Range(high=30.0)) == ""


# Changes of settings. The scenario starts with pressure 20 and no other setting known.


def test_a_change_counts_when_the_setting_comes_into_the_range() -> None:
    key = "- {expect: {set: pressure, to: 28 to 32 cmH2O}, from: birth, ideal: 60 s, latest: 90 s}"
    # 40 at 30 s is no coming in; 30 at 75 s is: (90 - 75) / 30 = 0.5
    marked = item(key, f"0 birth\n30 set pressure=40\n75 set pressure=30\n{END}")
    assert (marked.credit, marked.verdict) == (0.5, "late")


def test_a_value_given_with_an_action_is_a_change_too() -> None:
    key = "- {expect: {set: pressure, to: 28 to 32 cmH2O}, from: birth, ideal: 60 s}"
    assert item(key, f"0 birth\n30 start pump pressure=30\n{END}").credit == 1.0


def test_a_setting_put_right_before_the_anchor_is_in_force_at_it() -> None:
    key = "- {expect: {set: pressure, to: 28 to 32 cmH2O}, from: birth, ideal: 60 s}"
    marked = item(key, f"10 set pressure=30\n50 birth\n{END}")
    assert (marked.credit, marked.occasions[0].delay_ms) == (1.0, 0)
    gone = item(key, f"10 set pressure=30\n40 set pressure=40\n50 birth\n{END}")
    assert (gone.credit, gone.verdict) == (0.0, "early")


def test_one_change_serves_every_item_that_it_meets() -> None:
    key = """
    - {expect: {set: pressure, to: 28 to 32 cmH2O}, from: birth, ideal: 60 s, id: a}
    - {expect: {set: pressure, to: at least 25 cmH2O}, from: birth, ideal: 60 s, id: b}
    """
    scored = card(key, f"0 birth\n30 set pressure=30\n{END}")
    assert [marked.credit for marked in scored.items] == [1.0, 1.0]


def test_met_only_as_found_is_not_reached() -> None:
    key = "- {expect: {set: pressure, to: 18 to 22 cmH2O}, from: birth, ideal: 60 s}"
    marked = item(key, f"0 birth\n{END}")
    assert (marked.credit, marked.verdict) == (None, "not reached")
    counts = key.replace("ideal: 60 s", "ideal: 60 s, as_found: counts")
    assert item(counts, f"0 birth\n{END}").credit == 1.0


def test_as_found_and_then_set_by_hand_counts_at_that_instant() -> None:
    key = "- {expect: {set: pressure, to: 18 to 22 cmH2O}, from: birth, ideal: 60 s, latest: 90 s}"
    assert item(key, f"0 birth\n75 set pressure=20\n{END}").credit == 0.5
    # too late to earn anything: it was so all the time, and is left out rather than blamed
    assert item(key, f"0 birth\n95 set pressure=20\n{END}").credit is None


def test_as_found_that_was_moved_away_before_the_anchor_is_a_miss() -> None:
    key = "- {expect: {set: pressure, to: 18 to 22 cmH2O}, from: birth, ideal: 60 s}"
    assert item(key, f"10 set pressure=40\n50 birth\n{END}").verdict == "missed"


def test_lower_and_higher_ask_for_a_step_at_least_against_the_anchor() -> None:
    key = "- {expect: {set: pressure, change: lower}, from: birth, ideal: 60 s}"
    # 30 at the anchor; step 2: 29 is too little, 28 enough
    record = "10 set pressure=30\n50 birth\n60 set pressure={}\n" + END
    assert item(key, record.format(29)).verdict == "missed"
    assert item(key, record.format(28)).credit == 1.0
    assert item(key, record.format(33)).verdict == "missed"
    higher = "- {expect: {set: pressure, change: higher}, from: birth, ideal: 60 s}"
    assert item(higher, record.format(32)).credit == 1.0


def test_small_steps_that_add_up_to_a_step_count_when_they_do() -> None:
    key = "- {expect: {set: pressure, change: lower}, from: birth, ideal: 60 s, latest: 90 s}"
    record = f"0 birth\n30 set pressure=19\n75 set pressure=18\n{END}"
    assert item(key, record).occasions[0].done_ms == 75_000


def test_lower_than_something_unknown_is_not_recorded() -> None:
    key = "- {expect: {set: oxygen, change: lower}, from: birth, ideal: 60 s}"
    marked = item(key, f"0 birth\n30 set oxygen=30\n{END}")
    # base unknown and a change recorded: in neither sum; with none recorded it is missed
    assert (marked.credit, marked.verdict, marked.applied) == (None, "not recorded", False)
    assert item(key, f"0 birth\n{END}").verdict == "missed"
