"""Doses by their amount, slips, and doses in parts, worked by hand. The baby weighs 2 kg."""

from __future__ import annotations

from typing import Any

import pytest

from tests.scoring.case import card, item
from tests.scoring.test_totals_and_outcome import STANDARD

END = "900 closed finished"


def give(dose: str) -> str:
    return f"- {{expect: give, from: birth, ideal: 60 s, dose: {dose}}}"


def fill(dose: str) -> str:
    return f"- {{expect: fill, from: birth, ideal: 60 s, dose: {dose}}}"


@pytest.mark.parametrize(
    ("asked", "given", "credit", "verdict"),
    [
        # a range is right in all its width
        ("10 to 30 mcg/kg", 30, 1.0, "on time"),
        ("10 to 30 mcg/kg", 10, 1.0, "on time"),
        # above: (2 x 30 - 45) / (2 x 30 - 30) = 0.5; twice the high end: 0
        ("10 to 30 mcg/kg", 45, 0.5, "setting off"),
        ("10 to 30 mcg/kg", 60, 0.0, "setting off"),
        # below: (7.5 - 5) / (10 - 5) = 0.5; half the low end: 0
        ("10 to 30 mcg/kg", 7.5, 0.5, "setting off"),
        ("10 to 30 mcg/kg", 5, 0.0, "setting off"),
        # a bare figure with its tolerance of 5: 25 is right; from there to 0 at 40 as written
        ("20 mcg/kg", 25, 1.0, "on time"),
        ("20 mcg/kg", 30, (40 - 30) / (40 - 25), "setting off"),
        ("20 mcg/kg", 12.5, (12.5 - 10) / (15 - 10), "setting off"),
        # a range with one end takes it for both
        ("at least 20 mcg/kg", 15, (15 - 10) / (20 - 10), "setting off"),
        ("at most 20 mcg/kg", 30, (40 - 30) / (40 - 20), "setting off"),
        ("at least 20 mcg/kg", 90, 1.0, "on time"),
    ],
)
def test_the_amounts_credit(asked: str, given: float, credit: float, verdict: str) -> None:
    marked = item(give(asked), f"0 birth\n30 done give amount={given}_mcg/kg route=vein\n{END}")
    assert marked.credit == pytest.approx(credit)
    assert marked.verdict == verdict


def test_a_dose_never_reads_right_unless_its_amount_was_written_down() -> None:
    key = give("20 mcg/kg").replace("}", ", routes: [vein]}")
    marked = item(key, f"0 birth\n30 done give route=vein\n{END}")
    assert (marked.credit, marked.verdict, marked.unrecorded) == (1.0, "not recorded", True)


def test_without_a_route_the_range_that_suits_best_gives_the_credit() -> None:
    key = give("{vein: 20 mcg/kg, tube: 100 mcg/kg}")
    marked = item(key, f"0 birth\n30 done give amount=100_mcg/kg\n{END}")
    assert (marked.credit, marked.unrecorded) == (1.0, True)


def test_far_too_little_is_a_finding() -> None:
    scored = card(
        give("10 to 30 mcg/kg"), f"0 birth\n30 done give amount=4_mcg/kg route=vein\n{END}"
    )
    assert [concern.code for concern in scored.found] == ["too little"]
    assert not card(give("10 to 30 mcg/kg"), f"0 birth\n30 done give amount=6_mcg/kg\n{END}").found


@pytest.mark.parametrize(
    ("record", "credit"),
    [
        # 7 + 7 + 6 mL / 2 kg = 10 mL/kg: right
        ("30 done fill volume=7_mL\n40 done fill volume=7_mL\n50 done fill volume=6_mL", 1.0),
        # 12 mL / 2 kg = 6: (6 - 5) / (9 - 5) with the tolerance of 1
        ("30 done fill volume=6_mL\n50 done fill volume=6_mL", 0.25),
        # the third comes more than 10 min after the first
        ("30 done fill volume=6_mL\n50 done fill volume=6_mL\n631 done fill volume=8_mL", 0.25),
        # a second whole dose is no part of the first
        ("30 done fill volume=20_mL\n300 done fill volume=20_mL", 1.0),
    ],
)
def test_amounts_in_parts_add_up_over_ten_minutes(record: str, credit: float) -> None:
    marked = item(fill("10 mL/kg"), f"0 birth\n{record}\n{END}")
    assert marked.credit == pytest.approx(credit)


def test_parts_are_too_little_only_at_the_end() -> None:
    parts = "30 done fill volume=4_mL\n40 done fill volume=16_mL"
    assert not card(fill("10 mL/kg"), f"0 birth\n{parts}\n{END}").found
    alone = card(fill("10 mL/kg"), f"0 birth\n30 done fill volume=4_mL\n{END}")
    assert [concern.code for concern in alone.found] == ["too little"]


def test_what_only_adds_to_a_dose_serves_no_other_occasion() -> None:
    key = fill("10 mL/kg") + "\n- {expect: fill, from: birth, ideal: 60 s, id: again}"
    parts = "30 done fill volume=7_mL\n40 done fill volume=7_mL\n50 done fill volume=6_mL"
    scored = card(fill("10 mL/kg") + "\n" + fill("10 mL/kg"), f"0 birth\n{parts}\n{END}")
    assert [marked.credit for marked in scored.items] == [1.0, 0.0]
    # an item that asks no dose counts each syringe
    assert [marked.credit for marked in card(key, f"0 birth\n{parts}\n{END}").items] == [1.0, 1.0]


SLIP = "0 birth\n30 done give amount=200_mcg/kg route=vein\n"


@pytest.mark.parametrize(
    ("more", "outcome"),
    [
        ("900 closed finished", None),
        # a person has confirmed the record, so it was given so: credit 0, essential
        ("900 closed finished\n901 confirmed", "not yet achieved"),
        # a person has corrected the dose
        ("100 dose 2 amount=20_mcg/kg route=vein\n900 closed finished", "achieved"),
        # or said again that it was as it stands
        ("100 dose 2 amount=200_mcg/kg route=vein\n900 closed finished", "not yet achieved"),
    ],
)
def test_a_tenfold_slip_asks_and_no_outcome_is_proposed_until_answered(
    more: str, outcome: str | None
) -> None:
    key = give("20 mcg/kg").replace("ideal: 60 s", "ideal: 60 s, importance: essential")
    given: dict[str, Any] = {"scoring": STANDARD, "purpose": "summative"}
    scored = card(key, SLIP + more, **given)
    assert scored.outcome == outcome
    if outcome is None:
        assert "ten times" in scored.reasons[0]


def test_a_slip_in_a_drug_that_no_item_asks_is_found_by_the_protocols_range() -> None:
    call = "- {expect: call, from: birth, ideal: 60 s}"
    scored = card(call, SLIP + END, protocol="small-unsafe")
    assert [concern.code for concern in scored.found] == ["ten-fold"]
    # without a route, only if it is a slip by every range
    bare = SLIP.replace(" route=vein", "")
    assert [concern.code for concern in card(call, bare + END, protocol="small-unsafe").found] == [
        "ten-fold"
    ]


CALL = "- {expect: call, from: birth, ideal: 60 s}"


@pytest.mark.parametrize(
    ("record", "told"),
    [
        # the protocol gives 10 to 30 mcg/kg by vein or bone: half the low end is 5
        ("30 done give amount=4.9_mcg/kg route=vein", ["too little"]),
        ("30 done give amount=5_mcg/kg route=vein", []),
        ("30 done give amount=4.9_mcg/kg", ["too little"]),
        # by a route for which the protocol gives no range nothing is judged
        ("30 done give amount=4.9_mcg/kg route=tube", []),
        ("30 done give route=vein", []),
        # 4 mL for 2 kg are 2 of 10 mL/kg; three such syringes make 6, and that is more than half
        ("30 done fill volume=4_mL route=vein", ["too little"]),
        ("30 done fill volume=4_mL route=vein\n90 done fill volume=4_mL route=vein",
         ["too little"]),
        ("30 done fill volume=4_mL route=vein\n90 done fill volume=4_mL route=vein\n"
         "150 done fill volume=4_mL route=vein", []),
    ],
)  # fmt: skip
def test_too_little_is_found_by_the_protocol_where_no_item_asks_a_dose(
    record: str, told: list[str]
) -> None:
    scored = card(CALL, f"0 birth\n100 done look\n{record}\n{END}", protocol="small-unsafe")
    assert [concern.code for concern in scored.found] == told


def test_the_dose_that_an_item_asks_for_comes_before_the_protocols() -> None:
    """4 mcg/kg is what this item asks, though the protocol's range begins at 10."""
    key = give("4 mcg/kg")
    scored = card(key, f"0 birth\n30 done give amount=4_mcg/kg route=vein\n{END}",
                 protocol="small-unsafe")  # fmt: skip
    assert [concern.code for concern in scored.found] == []


@pytest.mark.parametrize(
    ("record", "credit", "verdict"),
    [
        ("30 done fill amount=10_mL/kg over=6_min", 1.0, "on time"),
        # a minute below the low end of 5, the tolerance being 2: 1 - 1 / 2 = 0.5
        ("30 done fill amount=10_mL/kg over=4_min", 0.5, "setting off"),
        ("30 done fill amount=10_mL/kg over=1_min", 0.0, "setting off"),
        # the same time in another unit
        ("30 done fill amount=10_mL/kg over=360_s", 1.0, "on time"),
        # the amount decides: half of it, (7.5 - 5) / (9 - 5) = 0.625, at half its pace
        ("30 done fill amount=7.5_mL/kg over=4_min", 0.625 * 0.5, "setting off"),
        # in parts: 2 + 2 + 2 min
        (
            "20 done fill amount=4_mL/kg over=2_min\n30 done fill amount=3_mL/kg over=2_min\n"
            "40 done fill amount=3_mL/kg over=2_min",
            1.0,
            "on time",
        ),
        # of one part nobody wrote down how long: the whole time is not known
        (
            "20 done fill amount=5_mL/kg over=2_min\n30 done fill amount=5_mL/kg",
            1.0,
            "on time",
        ),
        ("30 done fill amount=10_mL/kg", 1.0, "on time"),
    ],
)
def test_the_time_over_which_it_is_given_is_a_part_of_it(
    record: str, credit: float, verdict: str
) -> None:
    key = fill("10 mL/kg").replace("}", ", over: 5 to 10 min}")
    marked = item(key, f"0 birth\n{record}\n{END}")
    assert marked.credit == pytest.approx(credit)
    assert marked.verdict == verdict


def test_a_time_that_is_off_is_told() -> None:
    key = fill("10 mL/kg").replace("}", ", over: 5 to 10 min}")
    marked = item(key, f"0 birth\n30 done fill amount=10_mL/kg over=1_min\n{END}")
    assert "The time over which it was given was 1 min; aim for 5 to 10 min." in marked.sentence
