"""Results are kept beside the log that they were computed from, and found again."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, event, func, select, text

from simengine.cohort.records import SessionResult
from simengine.store import Store, StoreError
from simengine.store.lists import assessed, newest_results, sessions_of
from simengine.store.results import listed
from simengine.store.tables import fault_results, item_results, results, takings
from tests.cohort.made import fault, item, result
from tests.store.logs import log, opened

CARD = {"total": 0.5, "items": [{"id": "ventilate", "evidence": ["née"]}]}


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened_store:
        yield opened_store


def keep(store: Store, *found: SessionResult) -> None:
    for each in found:
        store.add_log(opened(2, each.session))
        store.put_result(each, CARD)


def of(session: str, **said: object) -> SessionResult:
    return result(0, item(), session=session, **said)


def test_a_result_and_its_card_are_read_back_the_same(store: Store) -> None:
    first = result(1, item(), item("call", None, person="A1", time_s=-2.5), faults=(fault(),))
    keep(store, first)
    assert store.result(first.session) == first
    assert store.card(first.session) == CARD
    assert list(store.results()) == [first]


def test_what_was_never_scored_has_neither(store: Store) -> None:
    store.add_log(opened(2))
    assert store.result("s1") is None
    assert store.card("s1") is None
    assert store.result("unknown") is None
    assert list(store.results()) == []


def test_a_result_without_a_log_is_refused(store: Store) -> None:
    with pytest.raises(StoreError, match="there is no log of session s9"):
        store.put_result(of("s9"), CARD)


def test_the_newest_result_is_the_one_that_counts_and_the_older_stay(store: Store) -> None:
    first, second = of("s1", total=0.25, program="1"), of("s1", total=0.75, program="2")
    keep(store, first, second)
    assert store.result("s1") == second
    store.put_result(replace(first, total=0.3), CARD)
    assert store.result("s1") == replace(first, total=0.3)
    assert [entry.total for entry in store.results()] == [0.3]
    with store.reading() as connection:
        kept = select(results.c.program, results.c.current).order_by(results.c.program)
        assert [tuple(row) for row in connection.execute(kept)] == [("1", True), ("2", False)]


def test_the_flat_rows_are_those_of_the_newest_result_alone(store: Store) -> None:
    keep(store, result(0, item("a"), item("b"), session="s1", faults=(fault("x"),)))
    newest = result(
        0, item("c", 0.5, person="A1"), session="s1", team={"airway": ("A1", "A1", "B2")},
        faults=(fault("y"),),
    )  # fmt: skip
    store.put_result(newest, CARD)
    with store.reading() as connection:
        rows = connection.execute(select(item_results)).all()
        assert [(row.item, row.credit, row.person, row.applied) for row in rows] == [
            ("c", 0.5, "A1", True)
        ]
        assert connection.execute(select(fault_results.c.fault)).scalars().all() == ["y"]
        held = connection.execute(select(takings.c.code, takings.c.role).order_by(takings.c.code))
        assert [tuple(row) for row in held] == [("A1", "airway"), ("B2", "airway")]


def test_results_come_in_the_order_of_their_instants(store: Store) -> None:
    keep(
        store,
        of("s3", wall="2026-03-01T10:00:00Z"),
        of("s2", wall="2026-01-01T10:00:00Z"),
        of("s1", wall="2026-01-01T10:00:00Z"),
    )
    assert [kept.session for kept in store.results()] == ["s1", "s2", "s3"]


def test_results_are_found_by_unit_day_purpose_and_person(store: Store) -> None:
    keep(
        store,
        of("s1", unit="B2", day=date(2026, 1, 1), purpose="summative", team={"lead": ("A1",)}),
        of("s2", unit="B2", day=date(2026, 1, 2), purpose="formative", team={"lead": ("A1", "B1")}),
        of("s3", unit=None, day=date(2026, 1, 3), purpose="rehearsal", team={"help": ("B1",)}),
    )

    def found(**criteria: object) -> set[str]:
        return {kept.session for kept in store.results(**criteria)}  # type: ignore[arg-type]

    assert found(unit="B2") == {"s1", "s2"}
    assert found(unit="none such") == set()
    assert found(since=date(2026, 1, 2)) == {"s2", "s3"}
    assert found(until=date(2026, 1, 2)) == {"s1", "s2"}
    assert found(since=date(2026, 1, 2), until=date(2026, 1, 2)) == {"s2"}
    assert found(trainee="A1") == {"s1", "s2"}
    assert found(trainee="B1", unit="B2") == {"s2"}
    assert found(purposes=("summative", "formative")) == {"s1", "s2"}
    assert found(purposes=()) == set()


def test_many_results_are_read_in_parts_and_none_twice_or_not(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("simengine.store.results._PART", 2)
    walls = ["2026-01-01T10:00:00Z", "2026-01-01T10:00:00Z", "2026-01-02T10:00:00Z"]
    keep(store, *(of(f"s{number}", wall=walls[number % 3]) for number in range(7)))
    sessions = [kept.session for kept in listed(store.reading)]
    assert sessions == ["s0", "s1", "s3", "s4", "s6", "s2", "s5"]


def test_a_result_is_of_the_log_as_it_was(store: Store) -> None:
    kept = of("s1")
    keep(store, kept)

    def has(**other: str) -> bool:
        criteria = {
            "scenario_digest": kept.scenario_digest,
            "protocol_digest": kept.protocol_digest,
            "program": kept.program,
        }
        return store.has_result("s1", **{**criteria, **other})

    assert has()
    assert not has(program="another")
    assert not has(scenario_digest="another")
    assert not has(protocol_digest="another")
    assert store.without_result() == ()
    store.add_log(opened(3))
    store.add_log(opened(2, "s2"))
    assert not has()
    assert store.without_result() == ("s1", "s2")
    store.put_result(kept, CARD)
    assert store.without_result() == ("s2",)


def test_a_result_that_can_not_be_kept_leaves_the_older_one(store: Store) -> None:
    keep(store, of("s1"))
    twice = result(0, item("a"), item("a"), session="s1", program="2")
    with pytest.raises(StoreError):
        store.put_result(twice, CARD)
    assert store.result("s1") == of("s1")
    with store.reading() as connection:
        assert connection.execute(select(func.count()).select_from(item_results)).scalar() == 1


@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
def test_lists_are_found_by_an_index(store: Store) -> None:
    with store.reading() as connection:
        plan = connection.execute(
            text(
                "EXPLAIN QUERY PLAN SELECT result FROM results "
                "WHERE current = 1 AND (wall, session) > ('x', 'y') ORDER BY wall, session"
            )
        )
        plan_words = " ".join(row.detail for row in plan)
    assert "results_by_wall" in plan_words
    assert "TEMP B-TREE" not in plan_words


@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
def test_what_a_page_lists_of_a_person_or_a_unit_is_found_by_an_index_of_its_own(
    store: Store,
) -> None:
    plans: list[str] = []

    def explain(
        connection: Connection, _: object, statement: str, values: Any, *__: object
    ) -> None:
        if "FROM results" in statement and not statement.startswith("EXPLAIN"):
            rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values)
            plans.append(" ".join(row.detail for row in rows))

    with store.reading() as connection:
        engine = connection.engine
    event.listen(engine, "before_cursor_execute", explain)
    try:
        sessions_of(store, "A1", offset=0, limit=5)
        list(store.results(trainee="A1"))
        list(assessed(store, ["A1"]))
        newest_results(store, unit="B2", purpose="summative", limit=5)
        list(store.results(unit="B2"))
    finally:
        event.remove(engine, "before_cursor_execute", explain)
    used = [re.findall(r"results USING (?:COVERING )?INDEX (\w+)", plan) for plan in plans]
    assert used == [["results_by_session"]] * 3 + [["results_by_unit"]] * 2


def test_a_log_of_notes_alone_is_no_session_to_score(store: Store) -> None:
    with pytest.raises(StoreError):
        store.add_log(log(2))
