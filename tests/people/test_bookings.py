"""What a session to come is, and how a team is seated in another scenario's roles."""

from __future__ import annotations

from datetime import date

import pytest

from simengine.people.bookings import Booking, read_time, seated, without

ROLES = {"leader": "Leader", "airway": "Airway", "circulation": "Circulation"}


@pytest.mark.parametrize(
    ("typed", "read"), [("9:30", "09:30"), ("09.30", "09:30"), (" 23:59 ", "23:59"), ("", "")]
)
def test_a_time_of_day_is_read_as_people_write_it(typed: str, read: str) -> None:
    assert read_time(typed) == read


@pytest.mark.parametrize("typed", ["24:00", "9", "930", "9:60", "half past nine"])
def test_what_is_no_time_of_day_is_said_to_be_none(typed: str) -> None:
    with pytest.raises(ValueError, match="expected a time of day such as 09:30, found"):
        read_time(typed)


def test_who_has_a_role_that_the_scenario_knows_keeps_it() -> None:
    team = {"airway": ("A1", "B2"), "leader": ("C3",)}
    assert seated(team, ROLES) == {"leader": ("C3",), "airway": ("A1", "B2")}


def test_who_has_another_role_takes_one_that_is_left_and_nobodys_place_is_taken() -> None:
    team = {"airway": ("A1",), "scribe": ("D4",), "": ("E5", "F6")}
    assert seated(team, ROLES) == {"leader": ("D4",), "airway": ("A1",), "circulation": ("E5",)}


def test_a_person_in_two_roles_is_seated_once_more_in_none() -> None:
    team = {"airway": ("A1",), "scribe": ("A1", "D4")}
    assert seated(team, ROLES) == {"leader": ("D4",), "airway": ("A1",)}


def test_a_team_without_a_person_has_no_empty_role() -> None:
    assert without({"airway": ("A1",), "leader": ("C3", "A1")}, "A1") == {"leader": ("C3",)}


def test_everybody_who_is_to_come_is_named_once() -> None:
    team = {"airway": ("A1",), "leader": ("C3", "A1"), "": ("D4",)}
    assert Booking("b", date(2026, 1, 1), "term", team=team).people == ("A1", "C3", "D4")
