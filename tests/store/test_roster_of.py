"""A part of the roster is read for itself, on SQLite and on PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from simengine.people.roster import Certificate, Leave, Posting, Requirement, Roster, Trainee
from simengine.store import Store
from simengine.store.people import roster, roster_of, save_roster

DAY = date(2026, 1, 1)


def trainee(code: str, *units: str) -> Trainee:
    stays = tuple(Posting(unit, date(2020 + n, 1, 1)) for n, unit in enumerate(units))
    return Trainee(code, "nurse", stays)


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as one:
        save_roster(
            one,
            Roster(
                (trainee("a1", "North"), trainee("b2", "South", "North"), trainee("c3", "South")),
                (Requirement("any", "A resuscitation", 12),),
                tuple(Leave(code, DAY, DAY) for code in ("a1", "c3")),
                tuple(Certificate(code, "any", DAY, "elsewhere") for code in ("b2", "c3")),
            ),
        )
        yield one


def test_of_one_unit_it_has_whoever_is_or_was_posted_there(store: Store) -> None:
    part = roster_of(store, unit="North")
    assert [one.code for one in part.trainees] == ["a1", "b2"]
    assert [stay.unit for stay in part.trainees[1].postings] == ["South", "North"]
    assert [one.code for one in part.leaves] == ["a1"]
    assert [one.code for one in part.certificates] == ["b2"]
    assert part.requirements == roster(store).requirements


def test_of_one_person_it_has_that_person_alone(store: Store) -> None:
    part = roster_of(store, code="c3")
    assert [one.code for one in part.trainees] == ["c3"]
    assert [one.code for one in part.leaves] == ["c3"]
    assert [one.code for one in part.certificates] == ["c3"]
    assert roster_of(store, code="nobody").trainees == ()
