"""A part of the roster is read for itself, on SQLite and on PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from simengine.people.roster import Certificate, Leave, Posting, Requirement, Roster, Trainee
from simengine.store import Store
from simengine.store.lists import is_unit, more_people_than, units, units_like
from simengine.store.people import roster, roster_of, save_roster

DAY = date(2026, 1, 1)


def trainee(code: str, *units: str) -> Trainee:
    stays = tuple(Posting(unit, date(2020 + n, 1, 1)) for n, unit in enumerate(units))
    return Trainee(code, "nurse", stays)


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        save_roster(
            opened,
            Roster(
                (trainee("a1", "North"), trainee("b2", "South", "North"), trainee("c3", "South")),
                (Requirement("any", "A resuscitation", 12),),
                tuple(Leave(code, DAY, DAY) for code in ("a1", "c3")),
                tuple(Certificate(code, "any", DAY, "elsewhere") for code in ("b2", "c3")),
            ),
        )
        yield opened


def test_of_one_unit_it_has_whoever_is_or_was_posted_there(store: Store) -> None:
    part = roster_of(store, unit="North")
    assert [person.code for person in part.trainees] == ["a1", "b2"]
    assert [stay.unit for stay in part.trainees[1].postings] == ["South", "North"]
    assert [leave.code for leave in part.leaves] == ["a1"]
    assert [certificate.code for certificate in part.certificates] == ["b2"]
    assert part.requirements == roster(store).requirements


def test_of_one_person_it_has_that_person_alone(store: Store) -> None:
    part = roster_of(store, code="c3")
    assert [person.code for person in part.trainees] == ["c3"]
    assert [leave.code for leave in part.leaves] == ["c3"]
    assert [certificate.code for certificate in part.certificates] == ["c3"]
    assert roster_of(store, code="nobody").trainees == ()


def test_units_come_sorted_as_many_as_are_asked_for(store: Store) -> None:
    assert units(store, limit=5) == ("North", "South")
    assert units(store, limit=1) == ("North",)
    assert is_unit(store, "North")
    assert not is_unit(store, "north")
    assert not is_unit(store, "Nort")


def test_units_are_found_by_a_part_of_their_name_with_those_who_work_there(store: Store) -> None:
    def found(part: str, offset: int = 0, limit: int = 9) -> list[tuple[str, int]]:
        listed = units_like(store, part, DAY, offset=offset, limit=limit)
        return [(unit.unit, unit.people) for unit in listed]

    # b2 is posted on both, c3 on South alone
    assert found("") == [("North", 2), ("South", 2)]
    assert found("", offset=1) == [("South", 2)]
    assert found("", limit=1) == [("North", 2)]
    assert found("OUT") == [("South", 2)]
    assert found("_") == found("%") == []


def test_whether_there_are_more_people_than_a_number(store: Store) -> None:
    assert more_people_than(store, 2)
    assert not more_people_than(store, 3)
