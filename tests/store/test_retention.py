"""What is older than it is to be kept goes; figures and what people are current by stay."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import text

from simengine.people.codes import is_erased
from simengine.people.roster import Posting, Requirement, Roster, Trainee
from simengine.session.chain import chained
from simengine.store import Planned, Store, StoreError
from simengine.store.people import currency_on, roster, save_roster
from simengine.store.read_log import accesses, log_accesses
from simengine.store.retention import LetGo, let_go
from tests.cohort.made import item, result
from tests.people.life import Log

TODAY = date(2026, 11, 1)
WALL = "2026-11-01T10:00:00Z"
TEAM = {"leader": ("k1ab",), "airway": ("k2cd",)}


def add(store: Store, session: str, purpose: str, day: str, *, signed: bool = False) -> None:
    log = Log(purpose, session=session, day=day)
    if signed:
        log.signed()
    events = [replace(event, id=f"{session}-{event.id}") for event in log.events]
    store.add_log(chained(events), plan={"team": {"leader": ["k1ab"]}})
    own = item(person="k1ab", role="leader")
    store.put_result(
        result(
            0, own, session=session, team=TEAM, purpose=purpose, by=("p-desk",),
            day=date.fromisoformat(day),
        ),
        {"total": 1.0},
    )  # fmt: skip


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        add(opened, "old", "formative", "2024-01-01")
        add(opened, "old-rehearsal", "rehearsal", "2024-01-02")
        add(opened, "old-signed", "summative", "2024-01-03", signed=True)
        add(opened, "new", "formative", "2026-10-01")
        opened.create(Planned("never", "2024-01-01T10:00:00Z", {"team": {}}))
        opened.create(Planned("planned", "2026-10-30T10:00:00Z", {"team": {}}))
        stay = (Posting("north", date(2020, 1, 1)),)
        people = (
            Trainee("k1ab", "nurse", stay, "Anna Berg"),
            Trainee("k9yz", "nurse", stay, "Gone Away", left=date(2023, 1, 1)),
        )
        save_roster(opened, Roster(people, (Requirement("any", "Any", 60),)))
        log_accesses(opened, "p-desk", "coordinator", "trainee", ["k1ab"], "2024-01-01T10:00:00Z")
        log_accesses(opened, "p-desk", "coordinator", "trainee", ["k1ab"], "2026-10-30T10:00:00Z")
        yield opened


def run(store: Store, *, dry_run: bool = False) -> LetGo:
    return let_go(store, TODAY, people_months=24, session_months=24, wall=WALL, dry_run=dry_run)


def test_old_logs_go_and_their_results_stay_as_nobodys(store: Store) -> None:
    done = run(store)
    assert done.logs == ("old",)
    assert store.events("old") == ()
    kept = store.result("old")
    assert kept is not None
    assert kept.total == 1.0
    codes = {code for some in kept.team.values() for code in some}
    assert len(codes) == 2
    assert all(is_erased(code) for code in codes)
    assert is_erased(kept.items[0].person or "")
    assert all(is_erased(code) for code in kept.by)
    assert store.card("old") == {}
    assert "old" not in [session.planned.session for session in store.sessions()]
    assert store.without_result() == ()


def test_a_rehearsal_goes_altogether_and_what_is_recent_stays(store: Store) -> None:
    done = run(store)
    assert done.rehearsals == ("old-rehearsal",)
    assert store.result("old-rehearsal") is None
    assert len(store.events("new")) == 3
    assert {session.planned.session for session in store.sessions()} == {
        "new",
        "old-signed",
        "planned",
    }
    assert len(accesses(store, "k1ab")) == 1


def test_what_somebody_is_current_by_stays_whole_while_they_are_on_the_roster(
    store: Store,
) -> None:
    done = run(store)
    assert done.kept == ("old-signed",)
    assert store.events("old-signed")
    (standing,) = currency_on(store, TODAY)
    assert (standing.code, standing.status) == ("k1ab", "current")
    left = replace(roster(store).trainees[0], left=date(2026, 1, 1))
    save_roster(store, Roster((left,), roster(store).requirements))
    later = let_go(store, date(2029, 1, 1), people_months=24, session_months=24, wall=WALL)
    assert later.people == (("k1ab", date(2026, 1, 1)),)
    assert "old-signed" in later.logs


def test_who_left_long_ago_is_erased(store: Store) -> None:
    done = run(store)
    assert done.people == (("k9yz", date(2023, 1, 1)),)
    assert [trainee.code for trainee in roster(store).trainees] == ["k1ab"]


def test_a_dry_run_tells_the_same_and_lets_go_of_nothing(store: Store) -> None:
    trial = run(store, dry_run=True)
    assert store.events("old")
    assert len(roster(store).trainees) == 2
    assert run(store) == trial
    again = run(store)
    assert (again.logs, again.rehearsals, again.people) == ((), (), ())


def test_without_months_everything_is_kept(store: Store) -> None:
    done = let_go(store, date(2099, 1, 1), people_months=None, session_months=None, wall=WALL)
    assert done == LetGo((), (), (), (), 0, 0)
    assert store.events("old")


def test_events_are_kept_from_change_again_afterwards(store: Store) -> None:
    run(store)
    with pytest.raises(StoreError), store.begin() as connection:
        connection.execute(text("DELETE FROM events"))
