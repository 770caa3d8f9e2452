"""An audit out of the store: the sessions that count, and those that do not with the reason."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from simengine.session.chain import chained
from simengine.store import Store
from simengine.store.audit import audit
from tests.cohort.made import result
from tests.people.life import Log


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        for number, purpose in enumerate(["summative", "formative", "summative", "rehearsal"], 1):
            log = Log(
                purpose, session=f"s{number}", scenario=f"x{number}", day=f"2026-03-0{number}"
            )
            log.signed()
            events = [replace(event, id=f"s{number}-{event.id}") for event in log.events]
            opened.add_log(chained(events))
            opened.put_result(result(session=f"s{number}", team={"leader": ("k1ab",)}), {})
        yield opened


def test_only_signed_assessments_have_a_chain_and_the_others_say_why(store: Store) -> None:
    audited = audit(store, "k1ab", lambda _: None)
    assert [chain.session for chain in audited.chains] == ["s3", "s1"]
    assert [(session.session, session.why) for session in audited.left_out] == [
        ("s2", "a formative session is never evidence"),
        ("s4", "a rehearsal session is never evidence"),
    ]
    assert not audited.statement.made
    assert audited.chains[0].links[5].state == "missing"  # observers
    assert store.events("s3")[-1].hash in " ".join(audited.chains[0].links[6].words)


def test_nobody_known_has_an_empty_audit(store: Store) -> None:
    audited = audit(store, "nobody", lambda _: None)
    assert not audited.chains
    assert not audited.left_out


def test_only_as_many_chains_as_are_asked_for_are_read_and_the_others_are_counted(
    store: Store,
) -> None:
    read = []
    audited = audit(store, "k1ab", lambda ran: read.append(ran["session"]), latest=1)
    assert [chain.session for chain in audited.chains] == ["s3"]
    assert audited.older == 1
    assert read == ["s3"]
    assert len(audited.statement.counted) == 2
