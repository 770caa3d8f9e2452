"""Signing in the store: into the log and its chain, by the same rules, on both databases."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from simengine.people.read_roster import read_roster
from simengine.people.roster import Roster
from simengine.resources import scenarios_dir
from simengine.session.chain import chained
from simengine.session.live import RefusedError
from simengine.session.log_file import chain_problems
from simengine.session.rights import Recorder
from simengine.store import Store, StoreError, evidence
from simengine.store.outcomes import (
    appeal,
    beside_today,
    countersign,
    outcomes_of,
    outcomes_of_session,
    sign,
    supersede,
)
from simengine.store.people import save_roster
from simengine.store.report_material import material_of
from tests.cohort.made import item, result
from tests.people.life import DIGEST, Log

DESK, LEARNER = Recorder("p-desk", "educator"), Recorder("p-2", "trainee", "k2cd")
HOLM: dict[str, Any] = {"name": "R. Holm", "credentials": "consultant", "by": DESK}
OSEI: dict[str, Any] = {"name": "T. Osei", "credentials": "lead midwife", "by": DESK}
WALL = "2026-03-02T12:00:00Z"


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        log = Log()
        opened.add_log(chained(log.events))
        opened.put_result(scored(), {})
        yield opened


def scored(**said: Any) -> Any:
    team = {"leader": ("k1ab",), "airway": ("k2cd",)}
    return result(0, item(), session="s1", team=team, outcome="achieved", **said)


def test_an_outcome_goes_through_its_whole_life_and_the_chain_stays_whole(store: Store) -> None:
    signed = sign(store, "s1", outcome="achieved", wall=WALL, **HOLM)
    assert signed.data["score"]["total"] == 1.0
    countersign(store, "s1", wall=WALL, **OSEI)
    appeal(
        store,
        "s1",
        text="Look again.",
        by=LEARNER,
        wall=WALL,
        person="k2cd",
    )
    outcomes = outcomes_of_session(store, "s1")
    assert [signature.name for signature in outcomes.decisions[0].countersigned] == ["T. Osei"]
    assert {proof.code for proof in outcomes.evidence()} == {"k1ab"}
    supersede(store, "s1", instead="s2", by=DESK, wall=WALL)
    events = store.events("s1")
    assert list(chain_problems(events, file="s1")) == []
    assert [event.kind for event in events[-4:]] == ["signed", "signed", "appealed", "superseded"]
    assert outcomes_of_session(store, "s1").evidence() == ()
    assert outcomes_of(store, "k1ab") == (outcomes_of_session(store, "s1"),)
    assert outcomes_of(store, "nobody") == ()


def test_what_may_not_be_signed_leaves_the_log_as_it_was(store: Store) -> None:
    sign(store, "s1", outcome="achieved", wall=WALL, **HOLM)
    before = store.events("s1")
    with pytest.raises(RefusedError, match="has signed this outcome already"):
        countersign(store, "s1", wall=WALL, **HOLM)
    with pytest.raises(RefusedError):
        sign(store, "s1", outcome="fine", wall=WALL, **OSEI)
    with pytest.raises(StoreError, match="there is no log of session s9"):
        sign(store, "s9", outcome="achieved", wall=WALL, **HOLM)
    assert store.events("s1") == before


def test_a_learner_of_the_session_signs_nothing_in_it(store: Store) -> None:
    (anna, *_) = read_roster([scenarios_dir() / "roster"]).roster.trainees
    save_roster(store, Roster((replace(anna, code="k1ab", name="R. Holm"),)))
    with pytest.raises(RefusedError, match="nobody signs their own outcome"):
        sign(store, "s1", outcome="achieved", wall=WALL, **HOLM)


def test_rescoring_stands_beside_what_was_signed_and_alters_nothing(store: Store) -> None:
    signed = sign(store, "s1", outcome="achieved", wall=WALL, **HOLM)
    before = outcomes_of_session(store, "s1")
    worse = scored(scenario_digest="e" * 64, program="9")
    worse = replace(worse, total=0.4, outcome="not yet achieved")
    store.put_result(worse, {})
    after = outcomes_of_session(store, "s1")
    assert after == before
    assert {proof.code for proof in after.evidence()} == {"k1ab", "k2cd"}
    comparison = beside_today(after, worse)[signed.id]
    assert comparison.signed is not None
    assert (comparison.signed.total, comparison.today.total) == (1.0, 0.4)
    assert comparison.signed_outcome == "achieved"
    assert "the scenario" in comparison.differs


@pytest.mark.parametrize("why", ["stopped early", "safety stop"])
@pytest.mark.parametrize("purpose", ["formative", "summative"])
def test_an_imported_signature_where_there_is_no_outcome_has_no_effect(
    where: Path | str, purpose: str, why: str
) -> None:
    with Store.open(where) as opened:
        log = Log(purpose, closed=why)
        log.signed()
        events = chained(log.events)
        opened.add_log(events)
        opened.put_result(
            scored(purpose=purpose, closed=why, scenario_digest=DIGEST, standard=0.8), {}
        )
        assert opened.events("s1") == events  # kept, since nothing is rewritten
        has_no_effect(opened)


def test_an_imported_signature_without_a_recorded_standard_has_no_effect(where: Path | str) -> None:
    with Store.open(where) as opened:
        log = Log()
        log.signed()
        opened.add_log(chained(log.events))
        opened.put_result(scored(standard=None, scenario_digest=DIGEST), {})
        has_no_effect(opened)
        # a standard that the scenario is given later is no standard of then
        opened.put_result(scored(standard=0.8, scenario_digest="b" * 64), {})
        has_no_effect(opened)


def has_no_effect(store: Store) -> None:
    outcomes = outcomes_of_session(store, "s1")
    assert outcomes.decisions == ()
    assert "counts for nothing" in outcomes.notes[0]
    with store.reading() as connection:
        assert evidence.latest(connection, until=date(2030, 1, 1)) == ()
    day, later = date(2020, 1, 1), date(2030, 1, 1)
    material = material_of(store, title="All", unit=None, since=day, until=later, today=later)
    assert material.signed == frozenset()
