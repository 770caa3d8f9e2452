"""A competence statement needs several scenarios and signed summative outcomes."""

from __future__ import annotations

import pytest

from simengine.people.outcomes import outcomes_in
from simengine.people.statement import statement
from tests.people.life import Log


def session(
    number: int, scenario: str, outcome: str = "achieved", purpose: str = "summative"
) -> Log:
    log = Log(purpose, session=f"s{number}", scenario=scenario, day=f"2026-03-{number:02d}")
    log.signed(outcome=outcome)
    return log


def test_three_scenarios_make_a_statement_and_two_do_not() -> None:
    logs = [session(1, "a"), session(2, "b"), session(3, "b"), session(4, "a")]
    few = statement("k1ab", [outcomes_in(log.events) for log in logs])
    assert not few.made
    assert few.words.startswith("Too few to tell: signed outcomes in 2 different scenarios")
    assert "has not been measured" in few.words
    logs.append(session(5, "c", "not yet achieved"))
    enough = statement("k1ab", [outcomes_in(log.events) for log in logs])
    assert enough.made
    assert (enough.scenarios, enough.achieved) == (3, 2)
    assert "achieved in 2 of 3" in enough.words


@pytest.mark.parametrize("purpose", ["formative", "rehearsal"])
def test_no_number_of_other_sessions_ever_makes_one(purpose: str) -> None:
    logs = [session(n, f"scenario {n}", purpose=purpose) for n in range(1, 20)]
    drawn_up = statement("k1ab", [outcomes_in(log.events) for log in logs])
    assert not drawn_up.made
    assert drawn_up.counted == ()
    assert {session_left_out.why for session_left_out in drawn_up.left_out} == {
        f"a {purpose} session is never evidence"
    }


def test_the_latest_outcome_in_a_scenario_is_the_persons_in_it() -> None:
    logs = [
        session(1, "a"), session(2, "b"), session(3, "c", "not yet achieved"), session(9, "c"),
        session(8, "a", "not yet achieved"),
    ]  # fmt: skip
    drawn_up = statement("k1ab", [outcomes_in(log.events) for log in logs])
    assert (drawn_up.scenarios, drawn_up.achieved) == (3, 2)
    assert [counted.session for counted in drawn_up.counted] == ["s1", "s2", "s3", "s8", "s9"]


def test_an_outcome_under_appeal_is_left_out_and_told_why() -> None:
    logs = [session(1, "a"), session(2, "b"), session(3, "c")]
    logs[2].add("appealed", text="Look again.", person="k1ab")
    outcomes = [outcomes_in(log.events) for log in logs]
    mine, other = statement("k1ab", outcomes), statement("k2cd", outcomes)
    assert not mine.made
    assert [left.why for left in mine.left_out] == ["the outcome is under appeal"]
    assert other.made


def test_sessions_of_others_are_not_mentioned() -> None:
    drawn_up = statement("someone", [outcomes_in(session(1, "a").events)])
    assert not drawn_up.counted
    assert not drawn_up.left_out
    assert "nothing is said" in drawn_up.words
