"""The database itself refuses to change, remove or replace an event, whoever asks it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Connection, create_engine, text
from sqlalchemy.exc import DBAPIError

from simengine.store import Store
from simengine.store.place import place_of
from tests.store.logs import PLANNED, log

Where = Path | str

COLUMNS = "session, seq, id, at_ms, noted_ms, wall, kind, by, data, prev, hash"
ON_BOTH = {
    "changes": "UPDATE events SET at_ms = 5",
    "changes none": "UPDATE events SET at_ms = 5 WHERE seq = 1 AND session = 's1'",
    "removes": "DELETE FROM events WHERE seq = 1",
    "removes all": "DELETE FROM events",
    "updates on conflict": f"INSERT INTO events ({COLUMNS}) SELECT {COLUMNS} FROM events "
    "WHERE seq = 1 ON CONFLICT (session, id) DO UPDATE SET at_ms = 5",
    "adds out of turn": f"INSERT INTO events ({COLUMNS}) "
    "SELECT session, 9, 'new', 0, 0, wall, kind, by, data, hash, 'x' FROM events WHERE seq = 1",
    "adds in another chain": f"INSERT INTO events ({COLUMNS}) "
    "SELECT session, 2, 'new', 0, 0, wall, kind, by, data, 'x', 'x' FROM events WHERE seq = 1",
    "adds a second first": f"INSERT INTO events ({COLUMNS}) "
    "SELECT session, 0, 'new', 0, 0, wall, kind, by, data, prev, 'x' FROM events WHERE seq = 0",
    "moves the end back": "UPDATE tails SET seq = 0, "
    "hash = (SELECT hash FROM events WHERE seq = 0)",
    "makes up an end": "UPDATE tails SET hash = 'x'",
    "removes the end": "DELETE FROM tails",
    "removes the session": "DELETE FROM sessions",
}
ON_SQLITE = {
    "replaces by place": f"INSERT OR REPLACE INTO events ({COLUMNS}) "
    "SELECT session, seq, id, 5, 5, wall, kind, by, data, prev, hash FROM events WHERE seq = 1",
    "replaces by id": f"REPLACE INTO events ({COLUMNS}) "
    "SELECT session, 2, id, 5, 5, wall, kind, by, data, hash, 'x' FROM events WHERE seq = 1",
    "replaces by rowid": f"REPLACE INTO events (rowid, {COLUMNS}) "
    "SELECT 1, session, 2, 'new', 5, 5, wall, kind, by, data, hash, 'x' FROM events WHERE seq = 1",
    "adds under the rowid of none": f"INSERT INTO events (rowid, {COLUMNS}) "
    "SELECT -1, session, 2, 'new', 5, 5, wall, kind, by, data, hash, 'x' FROM events WHERE seq = 1",
    "replaces as it changes": "UPDATE OR REPLACE events SET seq = 0 WHERE seq = 1",
    "replaces the end": "REPLACE INTO tails SELECT session, 0, hash FROM events WHERE seq = 0",
}
ON_POSTGRESQL = {
    "truncates": "TRUNCATE events",
    "truncates what it hangs on": "TRUNCATE sessions CASCADE",
    "truncates the ends": "TRUNCATE tails",
    "changes even where nothing is": "UPDATE events SET at_ms = 5 WHERE seq = 99",
    "copies in rows that do not follow": f"INSERT INTO events ({COLUMNS}) "
    "SELECT session, seq + 1, id || 'x', 0, 0, wall, kind, by, data, prev, hash FROM events",
}


@pytest.fixture
def stranger(where: Where) -> Iterator[Connection]:
    """A connection of somebody who knows nothing of us, to a store with a log of two events."""
    with Store.open(where) as store:
        store.create(PLANNED)
        store.append("s1", log(2))
    engine = create_engine(place_of(where).url)
    with engine.connect() as connection:
        yield connection
    engine.dispose()


def refused(connection: Connection, statement: str) -> None:
    with pytest.raises(DBAPIError):
        connection.execute(text(statement))
    connection.rollback()


@pytest.mark.parametrize("statement", ON_BOTH.values(), ids=ON_BOTH.keys())
def test_it_refuses_a_statement_that(stranger: Connection, where: Where, statement: str) -> None:
    refused(stranger, statement)
    assert_nothing_has_changed(where)


@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
@pytest.mark.parametrize("recursive", ["OFF", "ON"], ids=["", "with recursive triggers"])
@pytest.mark.parametrize("statement", ON_SQLITE.values(), ids=ON_SQLITE.keys())
def test_sqlite_refuses_a_statement_that(
    stranger: Connection, where: Where, statement: str, recursive: str
) -> None:
    stranger.exec_driver_sql(f"PRAGMA recursive_triggers = {recursive}")
    refused(stranger, statement)
    assert_nothing_has_changed(where)


@pytest.mark.parametrize("where", ["postgresql"], indirect=True)
@pytest.mark.parametrize("statement", ON_POSTGRESQL.values(), ids=ON_POSTGRESQL.keys())
def test_postgresql_refuses_a_statement_that(
    stranger: Connection, where: Where, statement: str
) -> None:
    refused(stranger, statement)
    assert_nothing_has_changed(where)


def test_what_follows_the_last_event_is_taken_from_a_stranger_too(
    stranger: Connection, where: Where
) -> None:
    third = log(3)[2]
    stranger.execute(
        text(
            f"INSERT INTO events ({COLUMNS}) SELECT session, 2, 's1-2', 2, 2, wall, kind, by, "
            ":data, :prev, :hash FROM events WHERE seq = 1"
        ),
        {
            "data": '{"text":"née 2\u2028\\u0000","deep":{"value":0.1,"none":null}}',
            "prev": third.prev,
            "hash": third.hash,
        },
    )
    stranger.commit()
    with Store.open(where) as store:
        assert store.events("s1") == tuple(log(3))


def assert_nothing_has_changed(where: Where) -> None:
    with Store.open(where) as store:
        assert store.events("s1") == tuple(log(2))
        store.append("s1", log(3))
        assert store.events("s1") == tuple(log(3))
