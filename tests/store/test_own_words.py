"""A learner's own words of a session: kept, taken back, answered, on both databases."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from simengine.store import Planned, Store
from simengine.store.own_words import (
    MOST_LETTERS,
    OwnWords,
    answer,
    not_begun,
    of_person,
    of_session,
    other_views,
    put,
    taken_along,
)
from tests.store.logs import WALL

LATER = "2026-02-01T10:00:00Z"


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        for session, people in (("s1", ["N-104", "M-021"]), ("s2", ["N-104"])):
            plan = {"title": f"The title of {session}", "team": {"airway": people}}
            opened.create(Planned(session, WALL, plan))
        yield opened


def test_words_are_kept_in_one_line_and_take_the_place_of_those_of_before(store: Store) -> None:
    put(store, OwnWords("s1", "N-104", "goal", "say the time  aloud\n", WALL))
    put(store, OwnWords("s1", "N-104", "goal", "call for help sooner", LATER))
    put(store, OwnWords("s1", "N-104", "take along", "x" * 2000, LATER))
    goal, along = of_session(store, "s1")
    assert goal == OwnWords("s1", "N-104", "goal", "call for help sooner", LATER)
    assert along.words == "x" * MOST_LETTERS
    assert of_person(store, "M-021") == ()


def test_empty_words_take_away_what_was_there(store: Store) -> None:
    put(store, OwnWords("s1", "N-104", "goal", "say the time aloud", WALL))
    put(store, OwnWords("s1", "N-104", "goal", "  ", LATER))
    assert of_session(store, "s1") == ()


def test_the_same_people_find_what_they_took_along_last_in_the_next_session(store: Store) -> None:
    put(store, OwnWords("s1", "N-104", "take along", "seal the mask first", WALL))
    put(store, OwnWords("s1", "M-021", "take along", "say what I see", WALL))
    put(store, OwnWords("s2", "N-104", "take along", "turn the pressure up sooner", LATER))
    texts = taken_along(store, ("M-021", "N-104", "D-009"), but="s3")
    assert [(text.code, text.words) for text in texts] == [
        ("M-021", "say what I see"),
        ("N-104", "turn the pressure up sooner"),
    ]
    assert [text.words for text in taken_along(store, ("N-104",), but="s2")] == [
        "seal the mask first"
    ]


def test_another_view_is_answered_and_one_written_anew_waits_again(store: Store) -> None:
    view = OwnWords("s1", "N-104", "other view", "I did listen at once", WALL, item="listen")
    put(store, view)
    assert answer(store, "s1", "N-104", "listen", "On the film, yes: put right.", LATER)
    assert not answer(store, "s1", "N-104", "dry", "", LATER)
    (answered,) = other_views(store, offset=0, limit=9)
    assert (answered.answer, answered.answered) == ("On the film, yes: put right.", LATER)
    put(store, view)
    assert other_views(store, offset=0, limit=9) == (answered,), "the same words change nothing"
    put(store, OwnWords("s1", "N-104", "other view", "and again at 1:30", LATER, item="listen"))
    (waits,) = other_views(store, offset=0, limit=9)
    assert (waits.answer, waits.answered) == ("", "")


def test_what_waits_for_an_answer_comes_first(store: Store) -> None:
    put(store, OwnWords("s1", "N-104", "other view", "first", WALL, item="a"))
    put(store, OwnWords("s1", "N-104", "other view", "second", LATER, item="b"))
    answer(store, "s1", "N-104", "b", "", LATER)
    assert [other_view.item for other_view in other_views(store, offset=0, limit=9)] == ["a", "b"]


def test_a_person_finds_the_sessions_that_are_planned_with_them(store: Store) -> None:
    assert not_begun(store, "N-104") == (("s2", "The title of s2"), ("s1", "The title of s1"))
    assert not_begun(store, "M-021") == (("s1", "The title of s1"),)
    assert not_begun(store, "N-10") == ()
