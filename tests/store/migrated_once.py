"""Empty stores of tests: migrated once, and then made by the statements that came of that."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from sqlalchemy import Connection, event

from simengine.store import revisions

_STATEMENTS: dict[str, list[str]] = {}
"""What the migrations ran in an empty database that changes anything, for each kind of database."""
_LOOKS = ("SELECT", "PRAGMA", "SHOW")


@pytest.fixture(autouse=True)
def migrated_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have the migrations work out once for all tests what makes an empty store."""
    monkeypatch.setattr("simengine.store.store.bring_up", _bring_up)


def _bring_up(connection: Connection) -> None:
    if revisions.revision_of(connection) is not None:
        revisions.bring_up(connection)
        return
    database = connection.dialect.name
    if database not in _STATEMENTS:
        with _noted(connection) as statements:
            revisions.bring_up(connection)
        _STATEMENTS[database] = statements
        return
    driver = connection.connection.driver_connection
    assert driver is not None
    with_all = [";\n".join(_STATEMENTS[database])] if database == "postgresql" else None
    for statement in with_all or _STATEMENTS[database]:
        driver.cursor().execute(statement)


@contextmanager
def _noted(connection: Connection) -> Iterator[list[str]]:
    statements: list[str] = []

    def note(_: object, __: object, statement: str, values: Any, ___: object, ____: bool) -> None:
        if not statement.lstrip().startswith(_LOOKS):
            assert not values, "a statement is run again as it stands"
            statements.append(statement)

    event.listen(connection, "before_cursor_execute", note)
    try:
        yield statements
    finally:
        event.remove(connection, "before_cursor_execute", note)
