"""What attempts say of a person: own, confirmed, under a standard, in several scenarios."""

from dataclasses import replace
from datetime import date

import pytest

from simengine.cohort.chance import next_attempt
from simengine.cohort.competence import Competence, competence
from simengine.cohort.records import SessionResult
from tests.cohort.made import item, result

SCENARIOS = ("term", "preterm", "meconium")


def attempts(number: int, scenarios: int = 3, credit: float = 1.0) -> list[SessionResult]:
    """Ann's sessions, in turn in so many scenarios."""
    return [
        result(n, item(credit=credit, person="ann"), scenario=SCENARIOS[n % scenarios])
        for n in range(number)
    ]


def anns(results: list[SessionResult]) -> Competence:
    return competence(results)["ann", "breathing"]


def test_five_attempts_in_three_scenarios_are_told_with_an_interval() -> None:
    ann = anns([*attempts(5), result(9, item(credit=0.0, person="ann"))])
    assert ann.status == "told"
    assert (len(ann.attempts), ann.met, ann.scenarios) == (6, 5, 3)
    assert ann.chance == next_attempt(5, 6)
    assert ann.last is not None
    assert not ann.last.met
    assert ann.words() == (
        "5 of 6 attempts met the standard, in 3 scenarios. The chance that the next one does is "
        "about 79 %, and with 90 % certainty from 51 to 97 %."
    )


def test_four_attempts_are_too_few_to_tell_and_give_no_figure() -> None:
    ann = anns(attempts(4))
    assert (ann.status, ann.chance) == ("too few attempts", None)
    assert ann.words().startswith("Too few to tell: 4 of 4 attempts met the standard")


def test_somebody_seen_in_one_scenario_has_not_been_measured_however_often() -> None:
    ann = anns(attempts(12, scenarios=1))
    assert (ann.status, ann.chance) == ("not measured", None)
    assert ann.words() == (
        "Has not been measured: seen in one scenario alone (12 of 12 attempts met the standard)."
    )


def test_two_scenarios_are_too_few_to_tell() -> None:
    ann = anns(attempts(8, scenarios=2))
    assert (ann.status, ann.chance) == ("too few scenarios", None)
    assert competence(attempts(8, scenarios=2), scenarios=2)["ann", "breathing"].chance


def test_somebody_without_an_attempt_is_left_out() -> None:
    assert competence([]) == {}


@pytest.mark.parametrize(
    "changed",
    [
        {"purpose": "formative"},
        {"purpose": "rehearsal"},
        {"confirmed": False},
        {"closed": "stopped early"},
        {"closed": "safety stop"},
        {"standard": None},
    ],
)
def test_what_is_no_evidence_makes_no_attempt(changed: dict[str, object]) -> None:
    assert competence([replace(attempts(1)[0], **changed)]) == {}  # type: ignore[arg-type]


def test_only_own_applied_items_of_the_objective_count() -> None:
    session = result(
        0,
        item("mine", 1.0, person="ann", weight=3.0),
        item("half", 0.5, person="ann", weight=1.0),
        item("shared", 0.0, person=None),
        item("not reached", None, person="ann"),
        item("other", 0.0, person="ann", objective="warmth"),
        item("theirs", 0.0, person="ben"),
    )
    by_person = competence([session])
    (attempt,) = by_person["ann", "breathing"].attempts
    assert (attempt.share, attempt.items, attempt.met) == (0.875, 2, True)
    assert not by_person["ann", "warmth"].attempts[0].met
    assert not by_person["ben", "breathing"].attempts[0].met


def test_an_item_that_stops_a_pass_keeps_the_standard_from_being_met() -> None:
    session = result(
        0, item(person="ann", weight=9.0), item("late", 0.4, person="ann", stops_pass=True)
    )
    (attempt,) = anns([session]).attempts
    assert attempt.share > attempt.standard
    assert not attempt.met


def test_a_share_at_the_standard_meets_it() -> None:
    (attempt,) = anns([result(0, item(credit=0.75, person="ann"))]).attempts
    assert attempt.met


def test_attempts_stand_in_order_of_time_whatever_order_they_come_in() -> None:
    ann = anns(list(reversed(attempts(5))))
    assert [attempt.day for attempt in ann.attempts] == [date(2026, 1, 5 + n) for n in range(5)]
    assert ann.attempts == anns(attempts(5)).attempts


def test_an_objective_has_the_words_of_the_latest_session() -> None:
    old, new = attempts(2)
    new = replace(new, objectives={"breathing": "New words"})
    assert anns([new, old]).title == "New words"
