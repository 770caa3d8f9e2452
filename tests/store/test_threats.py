"""Latent safety threats: proposed by what sessions met by chance, owned, due and closed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from simengine.cohort.records import FaultResult, Threat
from simengine.store import Store, StoreError
from simengine.store.threats import (
    Proposal,
    add_threat,
    assign_threat,
    close_threat,
    new_threat_id,
    proposals,
    reopen_threat,
    threat,
    threats,
)
from tests.cohort.made import fault, item, result
from tests.store.logs import opened

DAY = date(2026, 3, 31)
ONE = Threat("t1", "B2", "equipment", "The heater of cot 2 stays cold", DAY)


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened_store:
        yield opened_store


def met(store: Store, session: str, *faults: FaultResult, **said: object) -> None:
    store.add_log(opened(2, session))
    store.put_result(result(0, item(), session=session, faults=faults, **said), {})


def test_a_threat_is_kept_assigned_closed_and_opened_again(store: Store) -> None:
    add_threat(store, ONE)
    assert threats(store) == (ONE,)
    assign_threat(store, "t1", "Technician on call", date(2026, 4, 7))
    owned = replace(ONE, owner="Technician on call", due=date(2026, 4, 7))
    assert threat(store, "t1") == owned
    close_threat(store, "t1", date(2026, 4, 3), "Fuse changed, tried for an hour")
    closed = replace(owned, closed=date(2026, 4, 3), closing="Fuse changed, tried for an hour")
    assert threats(store, closed=True) == (closed,)
    assert threats(store, closed=False) == ()
    reopen_threat(store, "t1")
    assert threats(store, closed=False) == (owned,)


def test_those_that_are_open_come_first_and_the_newest_before_the_older(store: Store) -> None:
    for number, (day, unit) in enumerate([(1, "B2"), (3, "B2"), (2, None), (2, "C1")]):
        add_threat(store, replace(ONE, id=f"t{number}", unit=unit, opened=date(2026, 3, day)))
    close_threat(store, "t1", DAY, "done")
    assert [listed.id for listed in threats(store)] == ["t3", "t2", "t0", "t1"]
    assert [listed.id for listed in threats(store, offset=1, limit=2)] == ["t2", "t0"]
    assert [listed.id for listed in threats(store, unit="B2")] == ["t0", "t1"]


def test_what_is_unknown_or_taken_is_an_error(store: Store) -> None:
    with pytest.raises(StoreError, match="there is no threat t9"):
        close_threat(store, "t9", DAY, "")
    with pytest.raises(StoreError, match="there is no threat t9"):
        assign_threat(store, "t9", "x", None)
    assert threat(store, "t9") is None
    add_threat(store, ONE)
    with pytest.raises(StoreError, match="nothing was kept"):
        add_threat(store, ONE)
    with pytest.raises(StoreError, match="no such session"):
        add_threat(store, replace(ONE, id="t2", session="unknown"))


def test_a_session_proposes_what_it_met_by_chance_and_not_what_was_planted(store: Store) -> None:
    met(
        store,
        "s1",
        fault("valve", planted=True),
        fault("leak", planted=False, title="The bag leaks"),
        fault("unavailable:hat", planted=False, title="Hat: was not there"),
        unit="B2",
        day=DAY,
    )
    assert proposals(store) == (
        Proposal("s1", "leak", "B2", DAY, "The bag leaks"),
        Proposal("s1", "unavailable:hat", "B2", DAY, "Hat: was not there"),
    )
    assert proposals(store, unit="C1") == ()
    assert len(proposals(store, limit=1)) == 1


def test_a_rehearsal_has_no_real_cot_and_proposes_nothing(store: Store) -> None:
    met(store, "s1", fault("leak", planted=False), purpose="rehearsal")
    assert proposals(store) == ()


def test_a_proposal_is_taken_up_once(store: Store) -> None:
    met(store, "s1", fault("leak", planted=False, title="The bag leaks"))
    (proposal,) = proposals(store)
    taken = Threat(
        new_threat_id(),
        proposal.unit,
        proposal.category,
        proposal.words,
        proposal.day,
        proposal.session,
    )
    add_threat(store, taken, source=proposal.source)
    assert proposals(store) == ()
    with pytest.raises(StoreError, match="taken up already"):
        add_threat(store, replace(taken, id=new_threat_id()), source=proposal.source)
    assert threats(store) == (taken,)


def test_a_threat_stays_taken_up_after_its_session_was_scored_again(store: Store) -> None:
    met(store, "s1", fault("leak", planted=False))
    add_threat(store, replace(ONE, session="s1"), source="leak")
    met(store, "s1", fault("leak", planted=False), fault("cold", planted=False), program="next")
    assert [proposal.source for proposal in proposals(store)] == ["cold"]
