from collections.abc import Iterator
from pathlib import Path

import pytest

from simengine.exchange.outcomes_table import outcomes_table
from simengine.store import Store
from tests.exchange.shipped_results import FEW, result
from tests.exchange.stores import as_if_a_panel_had_set_it, id_of, log_of, said, with_sessions


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with with_sessions(tmp_path) as opened:
        yield opened


def test_each_decision_is_a_row_with_how_it_stands(store: Store) -> None:
    log = list(log_of(FEW[1]))
    who = result(FEW[1]).team["leader"][0]
    for data in (
        {"name": "A. Person", "outcome": "achieved"},
        {"name": "B. Person", "outcome": "achieved"},
        {"name": "A. Person", "outcome": "not yet achieved", "person": who},
    ):
        log.append(said(log, "signed", credentials="RN", **data))
    log.append(said(log, "appealed", text="I see this differently.", person=who))
    store.append(id_of(FEW[1]), log)
    as_if_a_panel_had_set_it(store, FEW[1])
    table = outcomes_table(store)
    names = [column.name for column in table.columns]
    rows = [dict(zip(names, cells, strict=True)) for cells in table.cells(result(FEW[1]))]
    assert [
        (row["person"], row["outcome"], row["standing"], row["signatures"], row["appeals"])
        for row in rows
    ] == [
        (None, "achieved", "stands", 2, 0),
        (who, "not yet achieved", "under appeal", 1, 1),
    ]
    for column in table.columns:
        for row in rows:
            if column.allowed:
                assert row[column.name] in column.allowed
            assert column.optional or row[column.name] is not None


def test_a_session_without_a_signature_has_no_row(store: Store) -> None:
    assert list(outcomes_table(store).cells(result(FEW[0]))) == []
