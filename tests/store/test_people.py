"""The roster, evidence and accesses in the store, on SQLite and on PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from operator import attrgetter
from pathlib import Path

import pytest

from simengine.people.read_roster import read_roster
from simengine.people.roster import Posting, Requirement, Roster, Trainee, last_day
from simengine.resources import scenarios_dir
from simengine.session.chain import chained
from simengine.store import Store
from simengine.store.attendances import attendances
from simengine.store.people import codes_used, currency_on, leavers, roster, save_roster
from simengine.store.read_log import Access, accesses, log_accesses
from tests.cohort.made import result
from tests.people.life import Log


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        yield opened


def test_a_roster_is_read_back_as_it_was_saved_and_a_second_replaces_it(store: Store) -> None:
    assert roster(store) == Roster()
    read = read_roster([scenarios_dir() / "roster"]).roster
    save_roster(store, read)
    first = replace(read, attendances=())  # these are given by themselves
    assert roster(store) == first
    fewer = replace(first, trainees=first.trainees[:2], leaves=(), certificates=())
    save_roster(store, fewer)
    assert roster(store) == fewer


def test_attendances_of_a_file_are_kept_beside_those_that_are_there(store: Store) -> None:
    read = read_roster([scenarios_dir() / "roster"]).roster
    save_roster(store, read)
    save_roster(store, replace(read, attendances=()))
    by_code = attrgetter("code")
    assert sorted(attendances(store), key=by_code) == sorted(read.attendances, key=by_code)
    longer = replace(read.attendances[0], minutes=120)
    save_roster(store, replace(read, attendances=(longer,)))
    assert attendances(store, code=longer.code) == (longer,)
    assert len(attendances(store)) == len(read.attendances)


def test_leavers_are_those_of_whom_a_last_day_is_known(store: Store) -> None:
    since, last, other = date(2024, 1, 1), date(2025, 1, 31), date(2025, 3, 31)
    people = (
        Trainee("stays", "nurse", (Posting("A", since),)),
        Trainee("left", "nurse", (Posting("A", since),), left=last),
        Trainee("ended", "nurse", (Posting("A", since, last), Posting("B", last, other))),
        Trainee("moved", "nurse", (Posting("A", since, last), Posting("B", last))),
        Trainee("nowhere", "nurse", ()),
    )
    save_roster(store, Roster(people))
    gone = leavers(store)
    assert [person.code for person in gone] == ["left", "ended"]
    assert [person for person in people if last_day(person) is not None] == list(gone)


def test_an_outcome_signed_in_a_log_makes_its_people_current(store: Store) -> None:
    people = read_roster([scenarios_dir() / "roster"]).roster
    anna = people.trainees[0]
    need = Requirement("any", "Any", 12, role="leader")
    save_roster(store, Roster((anna,), (need,)))
    log = Log(team={"leader": [anna.code], "airway": ["k2cd"]})
    store.add_log(chained(log.events))
    (before,) = currency_on(store, date(2026, 3, 31))
    assert before.status == "never"
    log.signed()
    store.append("s1", chained(log.events)[-1:])
    (after,) = currency_on(store, date(2026, 3, 31))
    assert (after.status, after.until) == ("current", date(2027, 3, 2))
    (too_soon,) = currency_on(store, date(2026, 3, 1))
    assert too_soon.status == "never"
    log.add("appealed", text="Look again.", person=anna.code)
    store.append("s1", chained(log.events)[-1:])
    (appealed,) = currency_on(store, date(2026, 3, 31))
    assert appealed.status == "never"


def test_of_many_sessions_the_newest_of_each_scenario_and_roles_is_enough(store: Store) -> None:
    for number in range(1, 8):
        log = Log(session=f"s{number}", day=f"2026-0{number}-01", scenario="ab"[number % 2])
        log.signed()
        events = [replace(event, id=f"s{number}-{event.id}") for event in log.events]
        store.add_log(chained(events))
    people = read_roster([scenarios_dir() / "roster"]).roster
    person = replace(people.trainees[0], code="k1ab")
    need = Requirement("b", "B", 12, scenarios=("b",))
    save_roster(store, Roster((person,), (need,)))
    (entry,) = currency_on(store, date(2026, 12, 31))
    assert entry.until == date(2027, 7, 1)
    (earlier,) = currency_on(store, date(2026, 6, 30))
    assert earlier.until == date(2027, 5, 1)


def test_codes_in_results_are_known_as_used(store: Store) -> None:
    log = Log()
    store.add_log(chained(log.events))
    store.put_result(result(session="s1", team={"leader": ("k1ab",), "airway": ("k2cd",)}), {})
    assert codes_used(store) == {"k1ab", "k2cd"}


def test_every_access_is_kept_and_listed_newest_first(store: Store) -> None:
    for minute in range(3):
        wall = f"2026-03-01T10:0{minute}:00Z"
        log_accesses(store, "p-desk", "coordinator", "trainee", ["k1ab"], wall)
    log_accesses(store, "p-desk", "coordinator", "trainee", ["k2cd"], "2026-03-01T11:00:00Z")
    reads = accesses(store, "k1ab")
    assert reads[0] == Access("2026-03-01T10:02:00Z", "p-desk", "coordinator", "trainee", "k1ab")
    assert len(reads) == 3
    assert accesses(store, "k1ab", offset=1, limit=1) == reads[1:2]
