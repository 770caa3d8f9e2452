"""Backups while the store is in use, restores, moves and checks: all rows, on both databases."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text

from simengine.store import Planned, Store, StoreError
from simengine.store.backup import backup, check_backup, restore
from simengine.store.checking import check
from simengine.store.moving import move
from simengine.store.place import FILE
from simengine.store.read_log import accesses, log_accesses
from tests.postgresql import Server
from tests.store.filled import Everything, all_of, fill
from tests.store.logs import PLANNED, log

MADE_IN_TWO_STEPS = Path(__file__).parent / "made_in_two_steps.sql"
Where = Path | str


@pytest.fixture
def rows(where: Where) -> Everything:
    """A store with something in every table; its rows."""
    with Store.open(where) as store:
        fill(store)
        rows_by_table = all_of(store)
    assert all(rows_by_table.values()), "every table has a row"
    return rows_by_table


@pytest.fixture(params=["sqlite", "postgresql"])
def elsewhere(request: pytest.FixtureRequest, tmp_path: Path) -> Where:
    """Another place, in either database."""
    if request.param == "sqlite":
        return tmp_path / "elsewhere"
    server: Server = request.getfixturevalue("postgresql")
    return server.new()


def content(where: Where) -> Everything:
    with Store.open(where) as store:
        return all_of(store)


def saved(where: Where, file: Path) -> Path:
    with Store.open(where) as store:
        backup(store, file)
    return file


def spoil(file: Path, statement: str, trigger: str = "events_are_never_changed") -> None:
    """Do what the store's own triggers would refuse."""
    with closing(sqlite3.connect(file)) as raw:
        raw.execute(f"DROP TRIGGER {trigger}")
        raw.execute(statement)
        raw.commit()


def test_a_backup_restored_elsewhere_has_every_row(
    where: Where, elsewhere: Where, rows: Everything, tmp_path: Path
) -> None:
    file = saved(where, tmp_path / "one.sqlite")
    assert check_backup(file).problems == ()
    assert restore(elsewhere, file) is None
    assert content(elsewhere) == rows
    with Store.open(elsewhere) as store:
        store.append("s1", log(4))
        assert store.events("s1") == tuple(log(4))


def test_a_backup_is_one_file_and_leaves_the_store_as_it_was(
    where: Where, rows: Everything, tmp_path: Path
) -> None:
    folder = tmp_path / "backups"
    folder.mkdir()
    file = saved(where, folder / "one.sqlite")
    assert check_backup(file).sessions == 3
    assert [path.name for path in folder.iterdir()] == ["one.sqlite"]
    assert file.stat().st_mode & 0o077 == 0, "names are in it"
    assert content(where) == rows


def test_a_backup_is_made_while_others_read_and_write(where: Where, tmp_path: Path) -> None:
    console = Store.open(where, alone=True)
    console.create(PLANNED)
    console.append("s1", log(1))
    stop = threading.Event()
    written = []

    def record() -> None:
        for number in range(2, 400):
            if stop.is_set():
                break
            console.append("s1", log(number)[-1:])
            written.append(number)

    recorder = threading.Thread(target=record)
    recorder.start()
    try:
        files = []
        with Store.open(where) as store:
            for number in range(3):
                files.append(tmp_path / f"{number}.sqlite")
                backup(store, files[-1])
    finally:
        stop.set()
        recorder.join()
    for file in files:
        assert check_backup(file).problems == ()
    assert written
    assert console.events("s1") == tuple(log(written[-1]))
    console.close()


def test_a_backup_takes_the_place_of_no_file_unless_told_to(
    where: Where, rows: Everything, tmp_path: Path
) -> None:
    file = tmp_path / "one.sqlite"
    file.write_text("a letter")
    with Store.open(where) as store:
        with pytest.raises(StoreError, match=r"is there already.* --replace"):
            backup(store, file)
        assert file.read_text() == "a letter"
        backup(store, file, replace=True)
    assert check_backup(file).problems == ()


def test_a_backup_that_can_not_be_written_is_told_and_leaves_nothing(
    where: Where, tmp_path: Path
) -> None:
    with Store.open(where) as store, pytest.raises(StoreError, match=r"one.sqlite can't be writ"):
        backup(store, tmp_path / "none" / "one.sqlite")
    assert not (tmp_path / "none").exists()


def test_a_restore_takes_the_place_of_no_store_unless_told_to_and_keeps_it_then(
    where: Where, rows: Everything, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    file = saved(where, tmp_path / "one.sqlite")
    with Store.open(where) as store:
        store.create(Planned("later", "", {}))
        later = all_of(store)
    with pytest.raises(StoreError, match=r"there is a store in .* already; add --replace"):
        restore(where, file)
    assert content(where) == later
    kept = restore(where, file, replace=True)
    assert content(where) == rows
    assert kept is not None
    assert restore(where, kept, replace=True) not in (None, kept)
    assert content(where) == later
    with Store.open(where) as store:
        store.append("s1", log(4))


def test_a_restore_into_a_store_that_holds_nothing_needs_no_word(
    where: Where, elsewhere: Where, rows: Everything, tmp_path: Path
) -> None:
    Store.open(elsewhere).close()
    assert restore(elsewhere, saved(where, tmp_path / "one.sqlite")) is None
    assert content(elsewhere) == rows


def test_a_restore_waits_for_no_console(where: Where, rows: Everything, tmp_path: Path) -> None:
    file = saved(where, tmp_path / "one.sqlite")
    console = Store.open(where, alone=True)
    with pytest.raises(StoreError, match="another console is using"):
        restore(where, file, replace=True)
    console.close()
    assert content(where) == rows


@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
def test_a_backup_takes_the_place_of_a_damaged_file(
    where: Path, rows: Everything, tmp_path: Path
) -> None:
    file = saved(where, tmp_path / "one.sqlite")
    (where / FILE).write_bytes(b"no longer a database" * 999)
    with pytest.raises(StoreError, match="no SQLite database, or is damaged"):
        Store.open(where)
    with pytest.raises(StoreError, match="add --replace"):
        restore(where, file)
    kept = restore(where, file, replace=True)
    assert kept is not None
    assert kept.read_bytes() == b"no longer a database" * 999
    assert content(where) == rows


@pytest.mark.parametrize(
    ("statement", "trigger", "words"),
    [
        (
            "UPDATE events SET data = '{}' WHERE session = 's1' AND seq = 1",
            "events_are_never_changed",
            r"session s1, entry 1: hash is not as it was written",
        ),
        (
            "DELETE FROM events WHERE session = 's1' AND seq = 2",
            "events_are_never_removed",
            "the end of the log of session s1 is lost",
        ),
        (
            "DELETE FROM events WHERE session = 's1' AND seq = 1",
            "events_are_never_removed",
            "session s1, entry 1: seq is not as it was written",
        ),
    ],
    ids=["changed", "shortened", "thinned"],
)
def test_a_backup_with_a_broken_chain_is_refused_and_nothing_is_done(
    elsewhere: Where, tmp_path: Path, statement: str, trigger: str, words: str
) -> None:
    with Store.open(tmp_path / "store") as store:
        fill(store)
    file = saved(tmp_path / "store", tmp_path / "one.sqlite")
    spoil(file, statement, trigger)
    with pytest.raises(StoreError, match=rf"is not whole, so nothing was done: .*{words}"):
        restore(elsewhere, file)
    with Store.open(elsewhere) as store:
        assert store.sessions() == ()


def test_what_is_no_backup_is_told(elsewhere: Where, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="there is no file"):
        restore(elsewhere, tmp_path / "none.sqlite")
    (tmp_path / "letter").write_text("Dear colleagues, " * 500)
    with pytest.raises(StoreError, match="no SQLite database, or is damaged"):
        restore(elsewhere, tmp_path / "letter")
    with closing(sqlite3.connect(tmp_path / "other.sqlite")) as raw:
        raw.execute("CREATE TABLE concerts (what TEXT)")
    with pytest.raises(StoreError, match="is not the backup of a store"):
        restore(elsewhere, tmp_path / "other.sqlite")


def test_a_backup_of_an_older_version_is_restored_and_stays_as_it_is(
    elsewhere: Where, tmp_path: Path
) -> None:
    file = tmp_path / "old.sqlite"
    with closing(sqlite3.connect(file)) as old:
        old.executescript(MADE_IN_TWO_STEPS.read_text(encoding="utf-8"))
        old.execute("INSERT INTO sessions (session, wall, plan) VALUES ('s1', '', '{}')")
        old.commit()
    before = file.read_bytes()
    restore(elsewhere, file)
    assert file.read_bytes() == before
    with Store.open(elsewhere) as store:
        assert [session.planned.session for session in store.sessions()] == ["s1"]


def test_a_store_is_moved_with_every_row_and_stays_where_it_was(
    where: Where, elsewhere: Where, rows: Everything
) -> None:
    arrived = move(where, elsewhere)
    assert (arrived.sessions, arrived.events) == (3, 6)
    assert content(elsewhere) == rows
    assert content(where) == rows
    with Store.open(elsewhere) as store:
        store.append("s1", log(4))
        before = len(accesses(store, "A9"))
        log_accesses(store, "k1", "coordinator", "/p", ["A9"], "2026-01-01T00:00:00Z")
        assert len(accesses(store, "A9")) == before + 1, "numbers go on where they were"


def test_a_store_is_moved_there_and_back(
    where: Where, elsewhere: Where, rows: Everything, tmp_path: Path
) -> None:
    move(where, elsewhere)
    move(elsewhere, tmp_path / "back")
    assert content(tmp_path / "back") == rows


def test_a_store_is_moved_into_no_other_store(
    where: Where, rows: Everything, tmp_path: Path
) -> None:
    with Store.open(tmp_path / "other") as other:
        other.create(PLANNED)
    with pytest.raises(StoreError, match=r"there is a store in .* already; choose an empty place"):
        move(where, tmp_path / "other")
    with pytest.raises(StoreError, match=r"already$"):
        move(where, where)
    assert content(where) == rows


def test_a_broken_log_is_not_moved(elsewhere: Where, tmp_path: Path) -> None:
    with Store.open(tmp_path / "store") as store:
        fill(store)
    spoil(tmp_path / "store" / FILE, "UPDATE events SET data = '{}' WHERE session = 's1'")
    with pytest.raises(StoreError, match="nothing was moved: session s1, entry 0"):
        move(tmp_path / "store", elsewhere)
    with Store.open(elsewhere) as store:
        assert store.sessions() == ()


def test_no_store_is_moved_that_a_console_has(
    where: Where, elsewhere: Where, rows: Everything
) -> None:
    console = Store.open(where, alone=True)
    with pytest.raises(StoreError, match="another console is using"):
        move(where, elsewhere)
    console.close()


def test_a_check_counts_and_tells_everything_that_is_wrong(where: Where, rows: Everything) -> None:
    with Store.open(where) as store:
        counted: list[tuple[int, int]] = []
        with store.reading() as connection:
            report = check(connection, lambda done, of: counted.append((done, of)))
        assert (report.sessions, report.events, report.problems) == (3, 6, ())
        assert counted == [(1, 3), (2, 3), (3, 3)]
        with store.begin() as connection:
            of = "" if connection.dialect.name == "sqlite" else " ON events"
            connection.execute(text(f"DROP TRIGGER events_are_never_changed{of}"))
            connection.execute(text("UPDATE events SET at_ms = 1 WHERE seq = 0"))
        with store.reading() as connection:
            problems = check(connection).problems
    assert [words.partition(":")[0] for words in problems] == [
        "session s1, entry 0",
        "session s3, entry 0",
    ]
