"""A session begun by mistake leaves lists and figures, and comes back with all it had."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from simengine.session.chain import chained
from simengine.session.events import Event, Kind
from simengine.store import Planned, Store, StoreError, lists
from simengine.store.tables import evidence
from tests.cohort.made import fault, item, result
from tests.people.life import Log

WHY = "Opened the wrong scenario."


def entry(log: Log, kind: Kind, data: Mapping[str, Any]) -> Event:
    return log.add(kind, **data)


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        yield opened


def kept(store: Store, log: Log) -> None:
    store.add_log(chained(log.events), plan={})


def scored(store: Store) -> None:
    own = item(person="k1ab", role="leader")
    made = result(
        0, own, session="s1", team={"leader": ("k1ab",)}, faults=(fault(),), day=date(2026, 3, 2)
    )
    store.put_result(made, {"total": 1.0})


def figures(store: Store) -> list[object]:
    """Everything that a list or a figure would have of the session."""
    return [
        *(counted.session for counted in store.results()),
        *(newest_result.session for newest_result in lists.newest_results(store, limit=9)),
        *(session.session for session in lists.sessions_of(store, "k1ab", offset=0, limit=9)),
        *(session.planned.session for session in lists.planned(store, offset=0, limit=9)),
        *(["taken"] if lists.took_part(store, "k1ab", "s1") else []),
        *(["has results"] if lists.has_results(store) else []),
    ]


def test_it_leaves_every_list_and_figure_and_its_log_stays_whole(store: Store) -> None:
    log = Log("formative", confirmed=False)
    kept(store, log)
    scored(store)
    assert figures(store) == ["s1", "s1", "s1", "s1", "taken", "has results"]
    entry(log, "put_away", {"reason": WHY})
    kept(store, log)
    assert figures(store) == []
    assert store.result("s1") is None
    assert store.events("s1") == tuple(chained(log.events))
    (away,) = lists.planned(store, offset=0, limit=9, away=True)
    assert (away.planned.session, away.put_away) == ("s1", WHY)
    assert (store.logs(), store.logs(counting=True)) == (("s1",), ())


def test_scored_while_it_is_away_it_still_counts_for_nothing(store: Store) -> None:
    log = Log("formative", confirmed=False)
    entry(log, "put_away", {"reason": WHY})
    kept(store, log)
    scored(store)
    assert figures(store) == []
    assert store.without_result() == ()


def test_brought_back_it_counts_again_once_it_is_scored(store: Store) -> None:
    log = Log("formative", confirmed=False)
    away = entry(log, "put_away", {"reason": WHY})
    kept(store, log)
    entry(log, "amend", {"id": away.id, "withdrawn": True})
    kept(store, log)
    assert store.without_result() == ("s1",)
    scored(store)
    assert figures(store) == ["s1", "s1", "s1", "s1", "taken", "has results"]
    assert lists.planned(store, offset=0, limit=9, away=True) == ()


def test_put_away_again_its_newest_reason_stands(store: Store) -> None:
    log = Log("formative", confirmed=False)
    away = entry(log, "put_away", {"reason": "first"})
    entry(log, "amend", {"id": away.id, "withdrawn": True})
    entry(log, "put_away", {"reason": WHY})
    kept(store, log)
    assert [session.put_away for session in lists.planned(store, offset=0, limit=9, away=True)] == [
        WHY
    ]


def test_another_correction_puts_nothing_away(store: Store) -> None:
    log = Log("formative", confirmed=False)
    note = entry(log, "note", {"text": "x"})
    entry(log, "amend", {"id": note.id, "withdrawn": True})
    kept(store, log)
    scored(store)
    assert figures(store) == ["s1", "s1", "s1", "s1", "taken", "has results"]


def test_a_log_from_elsewhere_that_was_signed_and_put_away_proves_nothing(store: Store) -> None:
    log = Log("summative")
    log.signed()
    entry(log, "put_away", {"reason": WHY})
    store.add_log(chained([replace(event) for event in log.events]))
    with store.reading() as connection:
        assert connection.execute(evidence.select()).all() == []


def test_what_was_planned_and_never_opened_can_be_put_away_and_brought_back(store: Store) -> None:
    store.create(Planned("s1", "2026-03-02T10:00:00Z", {}))
    store.put_away("s1", WHY)
    assert figures(store) == []
    store.put_away("s1", None)
    assert figures(store) == ["s1"]


def test_of_what_was_opened_its_log_alone_says_whether_it_is_put_away(store: Store) -> None:
    kept(store, Log("formative"))
    with pytest.raises(StoreError, match="an entry in its log puts it away"):
        store.put_away("s1", WHY)
