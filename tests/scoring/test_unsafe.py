"""What is not advised, and what is unsafe in any baby, worked by hand.

Rate 120 in ``idle``, 50 in ``low``, 150 in ``high``; level 50, 10 and 98. The protocol
``small-unsafe`` gives 10 to 30 mcg/kg of ``give`` and 10 mL/kg of ``fill``, at most 30 cmH2O while
``pump`` runs, and asks for 30 s of ``pump`` (two thirds: 20 s) before ``press``.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.scoring.case import card, item
from tests.scoring.test_totals_and_outcome import STANDARD

END = "900 closed finished"
CALL = "- {expect: call, from: birth, ideal: 60 s, importance: essential}"
SUMMATIVE: dict[str, Any] = {
    "scoring": STANDARD,
    "purpose": "summative",
    "protocol": "small-unsafe",
}


@pytest.mark.parametrize(
    ("key", "record", "occurrences"),
    [
        # a lasting action: 10 s by default; 3 s into the state is within a recorder's error
        ("- {avoid: pump, during: [low]}", "10 start pump\n100 state low\n103 stop pump", 0),
        ("- {avoid: pump, during: [low]}", "10 start pump\n100 state low\n110 stop pump", 1),
        # the vocabulary's avoid_from of 20 s
        ("- {avoid: blow}", "10 start blow\n29.9 stop blow", 0),
        ("- {avoid: blow}", "10 start blow\n30 stop blow", 1),
        # where an observed clause decides: 10 s; for any other condition 0 s
        ("- {avoid: {observed: {rate: below 60 /min}}}", "100 state low\n109 state idle", 0),
        ("- {avoid: {observed: {rate: below 60 /min}}}", "100 state low\n110 state idle", 1),
        ("- {avoid: {settings: {oxygen: above 50 %}}}", "20 set oxygen=60\n20.5 set oxygen=40", 1),
        # while: the rate is 60 or more for 10 s by then; at 305 it is so for 5 s
        ("- {avoid: give, while: {observed: {rate: at least 60 /min}}}", "50 done give", 1),
        ("- {avoid: give, while: {observed: {rate: at least 60 /min}}}",
         "100 state low\n200 done give\n300 state idle\n305 done give", 0),
        # a start setting that nobody touched is nobody's doing; set by hand it is
        ("- {avoid: {settings: {pressure: below 25 cmH2O}}}", "50 done call", 0),
        ("- {avoid: {settings: {pressure: below 25 cmH2O}}}", "50 set pressure=22", 1),
        # nothing rests on a value that is not known: oxygen
        ("- {avoid: {not: {settings: {oxygen: at most 50 %}}}}", "50 done call", 0),
        ("- {avoid: {not: {settings: {oxygen: at most 50 %}}}}", "50 set oxygen=60", 1),
    ],
)  # fmt: skip
def test_avoid(key: str, record: str, occurrences: int) -> None:
    scored = card(key, f"{record}\n{END}")
    assert sum(deduction.occurrences for deduction in scored.deductions) == occurrences
    assert scored.items[0].verdict == ("done in error" if occurrences else "not done")


@pytest.mark.parametrize(
    ("record", "unsafe"),
    [
        # more than twice 30: 61; twice is not more than twice
        ("100 state low\n120 done look\n130 done give amount=61_mcg/kg route=vein",
         ["too_large_a_dose"]),
        ("100 state low\n120 done look\n130 done give amount=60_mcg/kg route=vein", []),
        # without route or amount nothing is judged unsafe
        ("100 state low\n120 done look\n130 done give amount=90_mcg/kg", []),
        ("100 state low\n120 done look\n130 done give route=vein", []),
        # in parts: 20 + 21 mL / 2 kg = 20.5 of 10 mL/kg within 10 min; 20 + 20 is twice
        ("10 done fill volume=20_mL route=vein\n400 done fill volume=21_mL route=vein",
         ["too_large_a_dose"]),
        ("10 done fill volume=20_mL route=vein\n400 done fill volume=20_mL route=vein", []),
        # given at 120 /min that nobody looked for
        ("50 done give amount=20_mcg/kg route=vein", ["without_need"]),
        # the last reading, 58 s old, was below 60
        ("100 state low\n120 done look\n130 state idle\n180 done give amount=20_mcg/kg route=vein",
         []),
        # the reading at 122 is more than 60 s old at 183
        ("100 state low\n120 done look\n130 state idle\n183 done give amount=20_mcg/kg route=vein",
         ["without_need"]),
        # the rate has been 120 for 9 s alone
        ("20 state low\n100 state idle\n109 done give amount=20_mcg/kg route=vein", []),
        # pressed after 20 s of pumping, at 50 /min that was read
        ("10 start pump\n20 state low\n25 done look\n40 start press", []),
        # a rise that nobody reads is no error, however long it goes on
        ("10 start pump\n20 state low\n25 done look\n40 start press\n80 state idle", []),
        # read at 92 (120 /min), and kept on for 75 s after that
        ("10 start pump\n20 state low\n25 done look\n40 start press\n80 state idle\n90 done look\n"
         "168 stop press", ["kept_on"]),
        ("10 start pump\n20 state low\n25 done look\n40 start press\n80 state idle\n90 done look\n"
         "166 stop press", []),
        # a reading below 60 ends it
        ("10 start pump\n20 state low\n25 done look\n40 start press\n80 state idle\n90 done look\n"
         "120 state low\n130 done look\n168 stop press", []),
        # 32 cmH2O for 10 s; for 9 s; 46 at once; a dial as found or a test without pumping
        ("10 set pressure=32\n20 start pump\n30 stop pump", ["too_much_pressure"]),
        ("10 set pressure=32\n20 start pump\n29 stop pump", []),
        ("10 start pump\n20 set pressure=46\n21 set pressure=25", ["far_too_much_pressure"]),
        ("10 set pressure=60\n100 set pressure=25", []),
        # level 98 read, 60 % oxygen, not turned down for 60 s
        ("10 start pump oxygen=60\n100 state high\n110 done sample\n171 done call",
         ["too_much_oxygen"]),
        # turned down by 20 % at 160: the 60 s begin again
        ("10 start pump oxygen=60\n100 state high\n110 done sample\n160 set oxygen=40\n"
         "200 set oxygen=30", []),
        # by 5 %: no meaningful reduction (10 %)
        ("10 start pump oxygen=60\n100 state high\n110 done sample\n160 set oxygen=55\n"
         "180 set oxygen=30", ["too_much_oxygen"]),
        # not read: nothing rests on what the team could not know
        ("10 start pump oxygen=60\n100 state high", []),
    ],
)  # fmt: skip
def test_unsafe_in_any_baby(record: str, unsafe: list[str]) -> None:
    # birth at 0; the end of the session before what follows could matter
    last = 10 + max(float(line.split()[0]) for line in record.splitlines())
    scored = card(CALL, f"0 birth\n{record}\n{last} closed finished", protocol="small-unsafe")
    assert [danger.id.removeprefix("never:") for danger in scored.unsafe] == unsafe


@pytest.mark.parametrize(("at", "occurs"), [("109.999", 0), ("110", 1)])
def test_what_looks_back_by_itself_is_asked_to_last_no_longer(at: str, occurs: int) -> None:
    # the rate is 120 from 100 on; "not below 60 in the last 10 s" holds from 110 on
    key = """
    - avoid: {begin: give}
      while: {not: {lately: {of: {observed: {rate: below 60 /min}}, within: 10 s}}}
    """
    record = f"20 state low\n100 state idle\n{at} done give\n{END}"
    assert len(card(key, record).deductions) == occurs


def test_what_counts_once_deducts_once() -> None:
    key = "- {avoid: call, once: true, deduct: 4 %}\n- {expect: swap, from: start, ideal: 60 s}"
    scored = card(key, f"5 done swap\n20 done call\n200 done call\n{END}")
    assert scored.deductions[0].amount == 0.04


def unsafe(record: str, end: str = END, **given: Any) -> Any:
    given.setdefault("protocol", "small-unsafe")
    return card(CALL, f"{record}\n{end}", **given)


def test_it_counts_from_time_zero_until_a_state_that_ends_or_the_decision_to_stop() -> None:
    give = "done give amount=90_mcg/kg route=vein"
    assert not unsafe(f"20 {give}\n50 birth").unsafe
    assert unsafe(f"0 birth\n20 {give}").unsafe
    assert not unsafe(f"0 birth\n15 done halt\n20 {give}").unsafe
    # who goes on more than 10 s after it has not stopped; nor who said so before there was a baby
    assert unsafe(f"0 birth\n15 done halt\n26 {give}").unsafe
    assert unsafe(f"1 done halt\n5 birth\n20 {give}").unsafe
    assert not unsafe(f"0 birth\n10 done halt\n15 done halt\n20 {give}").unsafe
    # the linger is no care: what comes after the entry of a state that ends
    assert not unsafe(f"0 birth\n15 state end\n20 {give}").unsafe


def test_an_act_deducts_once_by_the_largest_of_what_it_offends() -> None:
    # 46 cmH2O for 20 s while pumping: too high (10 %) and far too high (15 %), one act
    scored = unsafe("0 birth\n5 done call\n10 start pump\n20 set pressure=46\n40 set pressure=25")
    assert {deduction.id: deduction.amount for deduction in scored.deductions} == {
        "never:far_too_much_pressure": 0.15,
        "never:too_much_pressure": 0.0,
    }
    assert scored.total == pytest.approx(1.0 - 0.15)
    assert len(scored.unsafe) == 2


def test_stretches_less_than_30_s_apart_are_one() -> None:
    key = "- {avoid: blow, deduct: 4 %}\n- {expect: call, from: start, ideal: 60 s}"
    # 30 to 60 and 89 to 120: 29 s apart; 30 to 60 and 90 to 120: two
    near = card(
        key, f"5 done call\n30 start blow\n60 stop blow\n89 start blow\n120 stop blow\n{END}"
    )
    far = card(
        key, f"5 done call\n30 start blow\n60 stop blow\n90 start blow\n120 stop blow\n{END}"
    )
    assert (near.deductions[0].amount, near.deductions[0].occurrences) == (0.04, 2)
    assert far.deductions[0].amount == pytest.approx(0.08)


def test_all_deductions_together_take_at_most_30_percent() -> None:
    # four doses, each its own act, 10 % each: 30 %
    gives = "\n".join(f"{at} done give amount=90_mcg/kg route=vein" for at in (20, 60, 100, 140))
    scored = unsafe(f"0 birth\n5 done call\n{gives}")
    assert scored.total == pytest.approx(0.7)


@pytest.mark.parametrize(
    ("record", "outcome"),
    [
        ("0 birth\n5 done call", "achieved"),
        # total 0.9, above the pass mark of 70 %, and yet
        ("0 birth\n5 done call\n20 start pump\n30 set pressure=50\n32 set pressure=25",
         "not yet achieved"),
        ("0 birth\n5 done call\n6 unobserved never:far_too_much_pressure\n20 start pump\n"
         "30 set pressure=50\n32 set pressure=25", "achieved"),
    ],
)  # fmt: skip
def test_what_is_unsafe_stops_a_pass(record: str, outcome: str) -> None:
    assert unsafe(record, **SUMMATIVE).outcome == outcome


def test_what_rests_on_something_not_recorded_stops_a_pass_only_once_confirmed() -> None:
    # no pumping in the record before press at 40, in low, read
    record = "0 birth\n5 done call\n10 state low\n20 done look\n40 start press\n60 stop press"
    scored = unsafe(record, **SUMMATIVE)
    assert [danger.id for danger in scored.unsafe] == ["never:before_breaths"]
    assert scored.outcome == "achieved"
    confirmed = unsafe(record, f"{END}\n901 confirmed", **SUMMATIVE)
    assert confirmed.outcome == "not yet achieved"
    assert "unsafe in any baby" in confirmed.reasons[0]


def test_what_stands_in_under_90_percent_of_redraws_is_too_close_to_call() -> None:
    # 32 cmH2O for 10.0 s: with times off by 4.4 s it lasts 10 s in about half of the trials
    record = "0 birth\n5 done call\n10 set pressure=32\n20 start pump\n30 stop pump"
    scored = unsafe(record, **SUMMATIVE, redraws=200)
    assert scored.unsafe[0].too_close
    assert scored.outcome == "too close to call"


def test_a_rate_told_wrong_is_never_unsafe_by_itself() -> None:
    scored = unsafe("0 birth\n5 done call\n10 state low\n20 done look spoken=150", **SUMMATIVE)
    assert [concern.code for concern in scored.found] == ["told wrong"]
    assert not scored.unsafe
    assert scored.outcome == "achieved"


def test_what_is_unsafe_stands_beside_the_items_and_not_among_them() -> None:
    scored = unsafe("0 birth\n20 done give amount=90_mcg/kg route=vein")
    assert [marked.id for marked in scored.items] == ["expect:call"]
    assert scored.unsafe[0].sentence == ("Unsafe in any baby: you gave at 0:20 (90 mcg/kg).")
    assert scored.unsafe[0].evidence[0].event_id
    assert item(CALL, f"0 birth\n{END}", protocol="small-unsafe").verdict == "missed"


NO_BREATHS = (
    "- {avoid: {observed: {colour: pale}, not: {doing: pump}}, lasting: 120 s, once: true, "
    "deduct: 10 %}\n- {expect: call, from: start, ideal: 60 s}"
)


@pytest.mark.parametrize(
    ("record", "occurrences"),
    [
        # the first breath 78 s after birth, the median of real teams; 119 s; 120 s
        ("0 state low\n78 start pump", 0),
        ("0 state low\n119 start pump", 0),
        ("0 state low\n120 start pump", 1),
        # stopped again for more than two minutes, it counts from there
        ("0 state low\n60 start pump\n70 stop pump\n200 start pump", 1),
    ],
)
def test_no_breath_for_two_minutes(record: str, occurrences: int) -> None:
    scored = card(NO_BREATHS, f"{record}\n{END}")
    assert sum(deduction.occurrences for deduction in scored.deductions) == occurrences


@pytest.mark.parametrize(
    "record",
    [
        # pressed until the next look, 75 s at most, after the rate has passed 60 unseen
        "10 start pump\n20 state low\n25 done look\n40 start press\n80 state idle\n110 done look\n"
        "113 stop press",
        # level above 95 % for 50 s while the oxygen is being turned down
        "10 start pump oxygen=60\n100 state high\n110 done sample\n150 set oxygen=40\n"
        "160 set oxygen=30",
        # a dial found high, and turned down before it is used
        "5 set pressure=60\n20 set pressure=25\n30 start pump",
        # a planted fault, found and put right
        "10 fault dial planted\n40 fault dial found\n60 set pressure=30\n70 start pump",
        # tested with nothing attached: pump does not run
        "10 set pressure=60\n20 done look\n30 set pressure=25\n40 start pump",
        # told as "about 50" while it is 50, as 60 to 100 while it is 50
        "10 start pump\n20 state low\n25 done look spoken=57\n40 start press",
        "10 start pump\n20 state low\n25 done look spoken=60_to_100\n40 start press",
    ],
)
def test_care_that_stays_free_of_any_finding_of_danger(record: str) -> None:
    last = 5 + max(float(line.split()[0]) for line in record.splitlines())
    scored = card(CALL, f"0 birth\n{record}\n{last} closed finished", protocol="small-unsafe")
    assert not scored.unsafe
    assert not scored.found


@pytest.mark.parametrize(
    ("record", "occurrences"),
    [
        # pink all the time: 20 mL are the 10 mL/kg of a baby of 2 kg
        ("50 done fill volume=20_mL route=vein", 1),
        # three syringes that make one dose begin once
        ("50 done fill volume=7_mL route=vein\n100 done fill volume=7_mL route=vein\n"
         "150 done fill volume=7_mL route=vein", 1),
        # what follows a whole dose begins another
        ("50 done fill volume=20_mL route=vein\n100 done fill volume=20_mL route=vein", 2),
        # pale until 130: at 729 that is 9 min 59 s ago, at 731 more than 10 min
        ("100 state low\n130 state idle\n140 done fill volume=20_mL route=vein", 0),
        ("100 state low\n130 state idle\n729 done fill volume=20_mL route=vein", 0),
        ("100 state low\n130 state idle\n731 done fill volume=20_mL route=vein", 1),
        # a dose begun while pale goes on after it; its later syringe begins nothing
        ("100 state low\n120 done fill volume=10_mL route=vein\n130 state idle\n"
         "719 done fill volume=10_mL route=vein", 0),
    ],
)  # fmt: skip
def test_volume_without_need_is_told_once_for_a_dose(record: str, occurrences: int) -> None:
    scored = card(CALL, f"0 birth\n{record}\n{END}", protocol="small-volume")
    assert sum(deduction.occurrences for deduction in scored.deductions) == occurrences
    assert [danger.id for danger in scored.unsafe] == ["never:fill_not_needed"][:occurrences]


@pytest.mark.parametrize(
    ("record", "needed"),
    [
        ("100 state low\n100 start pump\n121 stop pump\n125 done give", True),
        ("100 state low\n100 start pump\n119 stop pump\n125 done give", False),
        ("100 state low\n125 done give", False),
        # nobody has looked, and the rate has been 120 for ten seconds and more
        ("20 start pump\n60 stop pump\n100 done give", False),
        # the rate was below 60 until 130, and nobody has looked since
        ("100 state low\n100 start pump\n130 state idle\n139 done give", True),
        # read at 122, below 60: at 181 that is 59 s old, at 185 63 s
        ("100 state low\n100 start pump\n120 done look\n130 state idle\n181 done give", True),
        ("100 state low\n100 start pump\n120 done look\n130 state idle\n185 done give", False),
    ],
)
def test_what_breaths_have_not_helped_is_treated_and_nothing_before(
    record: str, needed: bool
) -> None:
    scored = card(CALL, f"0 birth\n{record}\n{END}", protocol="small-volume")
    assert [danger.id for danger in scored.unsafe] == ([] if needed else ["never:give_not_needed"])


@pytest.mark.parametrize(
    ("record", "occurrences"),
    [
        # three within 20 s: the third is 20 s after the first
        ("110 done give volume=0.4_mL route=vein\n120 done give volume=0.4_mL route=vein\n"
         "130 done give volume=0.4_mL route=vein", 1),
        # at 89.9 s and at 90 s after the first
        ("110 done give volume=0.4_mL route=vein\n199.9 done give volume=0.4_mL route=vein", 1),
        ("110 done give volume=0.4_mL route=vein\n200 done give volume=0.4_mL route=vein", 0),
        # at most 10 s apart: perhaps one dose, written down by two people
        ("110 done give volume=0.4_mL route=vein\n120 done give volume=0.4_mL route=vein", 0),
        ("110 done give volume=0.4_mL route=vein\n120.1 done give volume=0.4_mL route=vein", 1),
        # by bone after the vein, which has the same range; by vein after the tube, which has not
        ("110 done give volume=0.4_mL route=vein\n140 done give volume=0.4_mL route=bone", 1),
        ("110 done give volume=2_mL route=tube\n140 done give volume=0.4_mL route=vein", 0),
        # the route of one was not written down; one was said and not done
        ("110 done give volume=0.4_mL\n140 done give volume=0.4_mL route=vein", 0),
        ("110 done give volume=0.4_mL route=vein how=said\n"
         "140 done give volume=0.4_mL route=vein", 0),
    ],
)  # fmt: skip
def test_a_drug_is_not_given_again_long_before_its_interval(record: str, occurrences: int) -> None:
    scored = card(CALL, f"0 birth\n{record}\n{END}", protocol="small-volume")
    again = [
        deduction for deduction in scored.deductions if deduction.id == "never:give_again_too_soon"
    ]
    assert sum(deduction.occurrences for deduction in again) == occurrences
