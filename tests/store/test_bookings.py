"""Sessions to come and kept teams, in both databases."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from simengine.people.bookings import Booking, NamedTeam
from simengine.store import Planned, Store, StoreError
from simengine.store.bookings import (
    begun,
    book,
    booking,
    bookings_between,
    bookings_of,
    bookings_on,
    cancel,
    change_booking,
    tick,
)
from simengine.store.retention import let_go
from simengine.store.teams import drop_team, keep_team, teams

DAY, NEXT = date(2026, 12, 1), date(2026, 12, 2)
WALL = "2026-12-01T10:00:00Z"
TEAM = {"leader": ("k1ab",), "airway": ("k2cd", "k3ef"), "": ("k4gh",)}
LATE = Booking("late", DAY, "preterm", starts="11:00", team_name="Blue", place="Room 2")
EARLY = Booking("early", DAY, "term", "09:00", 45, "Room 1", "north", "summative", "Red", TEAM)
SOMETIME = Booking("sometime", DAY, "term", note="when the cot is free")
OTHER_DAY = Booking("other", NEXT, "term", unit="south", team={"airway": ("k2cd",)})


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        book(opened, [SOMETIME, LATE, EARLY, OTHER_DAY])
        yield opened


def test_a_days_plan_is_in_the_order_of_the_day_and_what_has_no_time_is_last(store: Store) -> None:
    assert bookings_on(store, DAY) == (EARLY, LATE, SOMETIME)
    assert bookings_between(store, DAY, NEXT) == (EARLY, LATE, SOMETIME, OTHER_DAY)
    assert bookings_between(store, DAY, NEXT, unit="south") == (OTHER_DAY,)


def test_what_a_person_is_to_come_to_is_found_from_a_day_on(store: Store) -> None:
    assert bookings_of(store, "k2cd", DAY) == (EARLY, OTHER_DAY)
    assert bookings_of(store, "k2cd", NEXT) == (OTHER_DAY,)
    assert bookings_of(store, "k4gh", DAY) == (EARLY,)
    assert bookings_of(store, "k2c", DAY) == ()


def test_each_change_counts_one_on_and_leaves_what_became_of_it(store: Store) -> None:
    tick(store, "early", WALL)
    change_booking(store, replace(EARLY, place="Room 3"))
    changed = replace(EARLY, place="Room 3", changes=1, ticked=WALL)
    assert booking(store, "early") == changed
    cancel(store, "early")
    assert booking(store, "early") == replace(changed, changes=2, cancelled=True)
    assert bookings_on(store, DAY) == (LATE, SOMETIME)
    assert bookings_of(store, "k2cd", DAY) == (OTHER_DAY,)
    assert len(bookings_between(store, DAY, DAY, cancelled=True)) == 3
    cancel(store, "early", cancelled=False)
    assert booking(store, "early") == replace(changed, changes=3)


def test_it_is_done_once_a_session_was_begun_from_it_or_somebody_ticked_it_off(
    store: Store,
) -> None:
    store.create(Planned("s1", WALL, {}))
    begun(store, "early", "s1")
    tick(store, "late", WALL)
    assert [booked.done for booked in bookings_on(store, DAY)] == [True, True, False]
    tick(store, "early", None)
    assert bookings_on(store, DAY)[0] == EARLY


def test_what_is_no_longer_planned_can_not_be_changed(store: Store) -> None:
    with pytest.raises(StoreError, match="no longer planned"):
        change_booking(store, replace(EARLY, id="nothing"))
    with pytest.raises(StoreError, match="no longer planned"):
        cancel(store, "nothing")
    with pytest.raises(StoreError, match="no longer planned"):
        tick(store, "nothing", WALL)


def test_bookings_of_a_time_that_is_let_go_go_and_what_leads_to_a_session_that_goes(
    store: Store,
) -> None:
    store.create(Planned("never", "2024-01-01T10:00:00Z", {}))
    begun(store, "other", "never")
    old = replace(EARLY, id="old", day=date(2024, 1, 1))
    book(store, [old])
    let_go(store, DAY, people_months=None, session_months=12, wall=WALL)
    assert booking(store, "old") is None
    assert booking(store, "other") == OTHER_DAY


def test_a_team_is_kept_under_its_name_and_the_last_kept_comes_first(store: Store) -> None:
    red, blue = NamedTeam("Red", TEAM, "north"), NamedTeam("Blue", {"airway": ("k2cd",)})
    keep_team(store, red)
    keep_team(store, blue)
    assert teams(store, limit=9) == (blue, red)
    keep_team(store, replace(red, unit=""))
    assert teams(store, limit=9) == (replace(red, unit=""), blue)
    assert teams(store, limit=1) == (replace(red, unit=""),)
    drop_team(store, "Red")
    assert teams(store, limit=9) == (blue,)
