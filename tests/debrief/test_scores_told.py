"""A score that a team told stands beside the one that the baby's signs made."""

from __future__ import annotations

import pytest

from simengine.debrief.scores_told import made_by_signs, scores_told
from simengine.plays import load_play, perform
from simengine.resources import scenarios_dir
from simengine.session.record import Session
from tests.content.what_is_shipped import vocabulary

PLAYS = scenarios_dir() / "plays"


def played(name: str, team: str = "by-the-book") -> Session:
    return perform(load_play(PLAYS / name / f"{team}.yaml")).session


def test_both_figures_stand_in_the_table_with_the_source() -> None:
    session = played("term-not-breathing")
    table = scores_told(session)
    assert table is not None
    figures = [row[1] for row in table.rows]
    assert figures == ["Apgar score 8"]
    assert table.rows[0][2].isdigit()
    assert "Apgar 1953" in table.note


def test_a_session_in_which_no_score_was_told_has_no_table() -> None:
    assert scores_told(played("term-blood-loss")) is None


@pytest.mark.parametrize(
    ("name", "state", "made"),
    [
        # Apgar's table (quoted by another publication): heart rate below 100 is 1, cry 2, active 2,
        # cough or cry 2, body pink 1.
        ("term-vigorous", "crying", 8),
        # Below 100 is 1; nothing else is there but a grimace, which is 1.
        ("term-responds", "still", 2),
        # Below 100 is 1, gasping 1, floppy 0, no response 0, pale 0.
        ("term-blood-loss", "white", 2),
    ],
)
def test_the_signs_add_up_as_apgars_table_has_them(name: str, state: str, made: int) -> None:
    session = played(name)
    stay = next(stay for stay in session.stays if stay.state == state)
    score = vocabulary().observations["apgar_score"].adds_up
    assert score is not None
    assert made_by_signs(score, session, stay.entry_ms + 1_000) == made


def test_a_sign_that_is_not_shown_makes_no_score() -> None:
    session = played("preterm-25-weeks")
    score = vocabulary().observations["apgar_score"].adds_up
    assert score is not None
    assert made_by_signs(score, session, 0) is None
