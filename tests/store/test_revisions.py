"""A store of any version that there has been becomes one of today with all that it held."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, inspect, text

from simengine.store import Store, StoreError, revisions
from simengine.store.place import FILE, engine_of, place_of, writing
from simengine.store.results import put
from simengine.store.revisions import BEFORE, FIRST, REVISIONS, bring_up, revision_of
from simengine.store.tables import REVISION, REVISION_TABLE, metadata
from tests.exchange import shipped_results
from tests.store.logs import WALL, log

Where = Path | str

EVENT = (
    "INSERT INTO events (session, seq, id, at_ms, noted_ms, wall, kind, by, data, prev, hash) "
    "VALUES (:session, :seq, :id, :at_ms, :noted_ms, :wall, :kind, :by, :data, :prev, :hash)"
)
MADE_IN_TWO_STEPS = Path(__file__).parent / "made_in_two_steps.sql"
DATA = '{"text":"née %d\u2028\\u0000","deep":{"value":0.1,"none":null}}'


@pytest.fixture
def migrated_once() -> None:
    """Have each store brought up by the migrations themselves."""


def rows_of(session: str, length: int) -> list[dict[str, object]]:
    """The events of a log as the first version wrote them."""
    return [
        {
            "session": session,
            **{name: getattr(event, name) for name in ("seq", "id", "at_ms", "noted_ms", "wall")},
            **{name: getattr(event, name) for name in ("kind", "by", "prev", "hash")},
            "data": DATA % event.seq,
        }
        for event in log(length, session)
    ]


@contextmanager
def a_store_at(where: Where) -> Iterator[Engine]:
    place = place_of(where)
    if place.folder is not None:
        place.folder.mkdir(exist_ok=True)
    engine = writing(engine_of(place))
    yield engine
    engine.dispose()


def fill(connection: Connection) -> None:
    """Add what every version can hold: sessions in an order of their own, and their logs."""
    for session in ("s2", "s1", "s3"):
        connection.execute(
            text("INSERT INTO sessions (session, wall, plan) VALUES (:s, :wall, :plan)"),
            {"s": session, "wall": WALL, "plan": '{"who":"née Ω"}'},
        )
    for session, length in {"s1": 3, "s2": 1}.items():
        for row in rows_of(session, length):
            connection.execute(text(EVENT), row)


def assert_all_is_there(where: Where) -> None:
    with Store.open(where) as store:
        assert store.events("s1") == tuple(log(3, "s1"))
        assert store.events("s2") == tuple(log(1, "s2"))
        assert store.events("s3") == ()
        plans = [session.planned for session in store.sessions()]
        assert {plan.session for plan in plans} == {"s1", "s2", "s3"}
        assert all(plan.plan == {"who": "née Ω"} and plan.wall == WALL for plan in plans)
        store.append("s1", log(4, "s1"))
        with store.reading() as connection:
            assert revision_of(connection) == REVISION
            assert differences(connection) == []


def differences(connection: Connection) -> list[object]:
    """What Alembic finds to differ between the database and the tables as they are written."""
    options = {"version_table": REVISION_TABLE, "compare_server_default": True}
    context = MigrationContext.configure(connection, opts=options)
    return list(compare_metadata(context, metadata))


def test_the_newest_step_is_the_one_that_the_tables_name() -> None:
    config = Config()
    config.set_main_option("script_location", str(revisions._FOLDER))
    steps = [step.revision for step in ScriptDirectory.from_config(config).walk_revisions()]
    assert steps == [REVISION, "0008", "0007", "0006", "0005", "0004", FIRST]
    assert REVISIONS == (BEFORE, FIRST, "0004", "0005", "0006", "0007", "0008", REVISION)


def test_the_steps_make_the_tables_as_they_are_written(where: Where) -> None:
    with Store.open(where) as store, store.reading() as connection:
        assert differences(connection) == []
        assert revision_of(connection) == REVISION


def test_a_difference_would_be_found(where: Where) -> None:
    with Store.open(where) as store:
        with store.begin() as connection:
            connection.execute(text("ALTER TABLE trainees ADD COLUMN other TEXT"))
        with store.reading() as connection:
            assert differences(connection) != []


@pytest.mark.parametrize("revision", REVISIONS)
def test_a_store_of_this_version_keeps_its_data(where: Where, revision: str) -> None:
    result = shipped_results.result(shipped_results.FEW[0])
    with a_store_at(where) as engine, engine.begin() as connection:
        bring_up(connection)
        fill(connection)
        put(connection, replace(result, session="s1"), {})
        if revision != REVISION:
            made_older(connection, revision)
        assert revision_of(connection) == revision
    with Store.open(where) as store:
        assert store.result("s1") == replace(result, session="s1")
        with store.reading() as connection:
            flat = connection.execute(text("SELECT count(*) FROM item_results WHERE NOT with_cue"))
            assert flat.scalar() == sum(not item.with_cue for item in result.items)
    assert_all_is_there(where)


UNDOING = {
    "0009": ("DROP TABLE consents",),
    "0008": ("DROP TABLE own_words",),
    "0007": ("DROP TABLE attendances",),
    "0006": (
        "DROP TABLE bookings",
        "DROP TABLE teams",
        "ALTER TABLE sessions DROP COLUMN put_away",
    ),
    "0005": (
        "ALTER TABLE trainees DROP COLUMN staff_number",
        "ALTER TABLE requirements DROP COLUMN since",
    ),
    "0004": (
        "DROP TABLE shared_debriefs",
        "DROP TABLE sign_ins",
        "DROP TABLE invitations",
        "DROP TABLE accounts",
    ),
}
"""What takes away what came with each version, the newest first."""

NEW_TABLES = tuple(
    statement.removeprefix("DROP TABLE ")
    for statements in UNDOING.values()
    for statement in statements
    if statement.startswith("DROP TABLE ")
)


def made_older(connection: Connection, revision: str) -> None:
    """Take from a store of today what came after a version."""
    for step, statements in UNDOING.items():
        for statement in statements if step > revision else ():
            connection.execute(text(statement))
    connection.execute(text(f"UPDATE {REVISION_TABLE} SET version_num = '{revision}'"))
    if revision != BEFORE:
        return
    for statement in (
        "ALTER TABLE item_results RENAME COLUMN with_cue TO prompted",
        """UPDATE results SET result = replace(result, '"with_cue":', '"prompted":')""",
    ):
        connection.execute(text(statement))


@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
def test_a_store_made_in_two_steps_keeps_its_data(where: Path) -> None:
    where.mkdir()
    with closing(sqlite3.connect(where / FILE)) as file:
        file.executescript(MADE_IN_TWO_STEPS.read_text(encoding="utf-8"))
    with a_store_at(where) as engine, engine.begin() as connection:
        assert revision_of(connection) == BEFORE
        fill(connection)
    assert_all_is_there(where)


@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
def test_one_step_makes_to_the_letter_the_triggers_that_two_made(where: Path) -> None:
    Store.open(where).close()
    with (
        closing(sqlite3.connect(":memory:")) as before,
        closing(sqlite3.connect(where / FILE)) as ours,
    ):
        before.executescript(MADE_IN_TWO_STEPS.read_text(encoding="utf-8"))
        triggers = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
        indexes = (
            "SELECT name, sql FROM sqlite_master WHERE type = 'index' "
            f"AND tbl_name NOT IN {NEW_TABLES} ORDER BY name"
        )
        for query, number in ((triggers, 10), (indexes, None)):
            old, new = (
                [(name, " ".join((sql or "").split())) for name, sql in connection.execute(query)]
                for connection in (before, ours)
            )
            assert number in (len(old), None)
            assert new == old


@pytest.mark.parametrize("version", [None, "0001"])
def test_a_store_from_before_the_first_release_is_refused_in_words(
    where: Where, version: str | None
) -> None:
    with a_store_at(where) as engine, engine.begin() as connection:
        for table in ("sessions", "events", "tails"):
            connection.execute(text(f"CREATE TABLE {table} (session TEXT)"))
        connection.execute(text("INSERT INTO sessions VALUES ('s1')"))
        if version is not None:
            connection.execute(text(f"CREATE TABLE {REVISION_TABLE} (version_num TEXT)"))
            connection.execute(text(f"INSERT INTO {REVISION_TABLE} VALUES ('{version}')"))
    with pytest.raises(StoreError, match="from before the first release"):
        Store.open(where)
    with a_store_at(where) as engine, engine.connect() as connection:
        assert connection.execute(text("SELECT session FROM sessions")).scalars().all() == ["s1"]
        assert len(inspect(connection).get_table_names()) == (3 if version is None else 4)


def test_a_store_of_a_newer_program_is_left_alone(where: Where) -> None:
    with Store.open(where) as store, store.begin() as connection:
        connection.execute(text(f"UPDATE {REVISION_TABLE} SET version_num = '0999'"))
    with pytest.raises(StoreError, match=r"made by a newer simengine \(its version is 0999, this"):
        Store.open(where)
    with a_store_at(where) as engine, engine.connect() as connection:
        versions = connection.execute(text(f"SELECT version_num FROM {REVISION_TABLE}"))
        assert versions.scalars().all() == ["0999"]


def test_another_program_s_tables_are_left_alone(where: Where) -> None:
    with a_store_at(where) as engine, engine.begin() as connection:
        connection.execute(text("CREATE TABLE events (what TEXT)"))
        connection.execute(text("INSERT INTO events VALUES ('a concert')"))
    with pytest.raises(StoreError, match=r"tables of another program .*\(events\)"):
        Store.open(where)
    with a_store_at(where) as engine, engine.connect() as connection:
        assert inspect(connection).get_table_names() == ["events"]


def test_other_tables_beside_ours_do_not_matter(where: Where) -> None:
    with a_store_at(where) as engine, engine.begin() as connection:
        connection.execute(text("CREATE TABLE concerts (what TEXT)"))
    with Store.open(where) as store:
        assert store.sessions() == ()


def test_a_step_that_fails_changes_nothing(where: Where) -> None:
    with a_store_at(where) as engine, engine.begin() as connection:
        connection.execute(text("CREATE TABLE concerts (what TEXT)"))
        connection.execute(text("CREATE INDEX accesses_by_whom ON concerts (what)"))
    with pytest.raises(StoreError, match="already exists"):
        Store.open(where)
    with a_store_at(where) as engine, engine.begin() as connection:
        assert inspect(connection).get_table_names() == ["concerts"]
        connection.execute(text("DROP TABLE concerts"))
    with Store.open(where) as store:
        assert store.sessions() == ()


def test_no_store_is_brought_up_under_a_console_that_has_it(
    where: Where, monkeypatch: pytest.MonkeyPatch
) -> None:
    console = Store.open(where, alone=True)
    monkeypatch.setattr(revisions, "REVISIONS", ("0001a", REVISION))
    with console.begin() as connection:
        connection.execute(text(f"UPDATE {REVISION_TABLE} SET version_num = '0001a'"))
    with pytest.raises(StoreError, match="another console is using"):
        Store.open(where)
    console.close()
