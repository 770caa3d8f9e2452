"""Where a store is: a folder (SQLite) or a database's address (PostgreSQL), and how it is opened.

Rules of this file:

- SQLite: write-ahead log with ``synchronous=FULL``, so that a commit that has returned survives a
  power cut. A transaction that writes is immediate: it waits for its turn before it reads.
- PostgreSQL: a commit waits for the disk whatever the server's setting; what is read together is
  of one instant.
- A password is never shown, and neither is what a statement was given: it may be a name.
- The folder and its files are their owner's alone, also those that somebody or an older version
  made otherwise.
- ``alone``: a second program that asks for the same is told so. The lock goes with the process.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.exc import ArgumentError, DBAPIError

from simengine.private_files import make_private, private_file, private_folder
from simengine.store.database_errors import DAMAGED, store_errors, words_of
from simengine.store.log_store import StoreError

FILE = "sessions.sqlite"
BESIDE = ("-wal", "-shm", "-journal")
"""What SQLite keeps beside a file, by the end of its name."""

_WAIT_S = 10
_LOCK = 0x51_4D_E2_61  # any number that no other program is likely to lock
_TAKE_LOCK = text("SELECT pg_try_advisory_lock(:lock, hashtext(current_schema()))")


@dataclass(frozen=True, slots=True)
class Place:
    """``folder``: where the SQLite file is; else ``url`` alone says it. ``words``: for a person."""

    url: URL
    words: str
    folder: Path | None = None

    @property
    def file(self) -> Path | None:
        """The SQLite file."""
        return None if self.folder is None else self.folder / FILE


def place_of(where: Path | str) -> Place:
    """Return the place that a folder or a database's address means. Raises ``StoreError``."""
    if isinstance(where, Path) or "://" not in where:
        folder = Path(where)
        return Place(_sqlite(folder / FILE), str(folder), folder)
    try:
        url = make_url(where)
    except (ArgumentError, ValueError):
        raise StoreError(
            "expected a folder or an address such as postgresql://user@host/database, found an "
            "address that can't be read"
        ) from None
    if url.drivername not in ("postgresql", "postgres", "postgresql+psycopg"):
        raise StoreError(
            "expected a folder or an address such as postgresql://user@host/database, found "
            f"{url.render_as_string(hide_password=True)}"
        )
    url = url.set(drivername="postgresql")
    words = url.render_as_string(hide_password=True)
    return Place(url.set(drivername="postgresql+psycopg"), words)


def place_of_file(file: Path, *, to_read: bool = False) -> Place:
    """Return the place of a SQLite file that stands alone, such as a backup."""
    if not to_read:
        return Place(_sqlite(file), str(file))
    query = {"uri": "true", "mode": "ro"}
    return Place(URL.create("sqlite", database=file.absolute().as_uri(), query=query), str(file))


def make_folder(place: Place) -> None:
    """Make the folder of a place where there is none, for this person. Raises ``StoreError``."""
    if place.folder is None:
        return
    try:
        private_folder(place.folder)
        make_private(place.folder)
    except FileExistsError:
        raise StoreError(f"{place.folder} is a file; a folder is needed") from None
    except OSError as error:
        raise StoreError(f"the folder {place.folder} can't be made: {error.strerror}") from error


def make_file(place: Place) -> None:
    """Have the SQLite file of a place, new or old, be its owner's alone, and all beside it.

    SQLite gives what it keeps beside the file the rights that the file has. Raises ``StoreError``.
    """
    if place.file is None:
        return
    try:
        private_file(place.file)
        for end in BESIDE:
            make_private(place.file.with_name(place.file.name + end))
    except OSError as error:
        raise StoreError(f"the file {place.file} can't be made: {error.strerror}") from error


def engine_of(place: Place) -> Engine:
    """Return the engine of a place; nothing is opened yet.

    Raises ``StoreError`` where the driver of PostgreSQL, which is an extra, is not installed.
    """
    if place.url.drivername == "sqlite":
        engine = create_engine(place.url, connect_args={"timeout": _WAIT_S}, hide_parameters=True)
        event.listen(engine, "connect", _sqlite_opened)
        if place.folder is not None:
            event.listen(engine, "connect", _write_ahead)
        event.listen(engine, "begin", _sqlite_begins)
        return engine
    if find_spec("psycopg") is None:
        raise StoreError(
            f"the database {place.words} needs the driver of PostgreSQL, which is not installed; "
            "install it with: pip install 'simengine[postgres]'"
        )
    engine = create_engine(
        place.url,
        pool_pre_ping=True,  # a server that was started anew is found again
        isolation_level="REPEATABLE READ",
        hide_parameters=True,
        connect_args={"connect_timeout": _WAIT_S}
        if "connect_timeout" not in place.url.query
        else {},
    )
    event.listen(engine, "connect", _postgresql_opened)
    return engine


def writing(engine: Engine) -> Engine:
    """Return the same engine for transactions that write."""
    if engine.dialect.name == "sqlite":
        return engine.execution_options(immediate=True)
    return engine.execution_options(isolation_level="READ COMMITTED")


def reach(place: Place, engine: Engine) -> Connection:
    """Open a connection. Raises ``StoreError`` where the database can't be reached or used."""
    try:
        connection = engine.connect()
    except DBAPIError as error:
        raise StoreError(
            f"the store in {place.words} can't be opened: {words_of(error.orig)}"
        ) from error
    except UnicodeDecodeError as error:  # SQLite's complaint, which quotes what is damaged
        raise StoreError(f"the store in {place.words} can't be opened: {DAMAGED}") from error
    if engine.dialect.name == "postgresql":
        with store_errors(place.words):
            encoding = connection.execute(text("SHOW server_encoding")).scalar()
            connection.rollback()
        if encoding != "UTF8":
            connection.close()
            raise StoreError(
                f"the database {place.words} keeps text as {encoding}; one with UTF8 is needed"
            )
    return connection


def lock(place: Place, engine: Engine) -> Callable[[], None]:
    """Take the place for this process alone; return what lets go of it. Raises ``StoreError``."""
    if place.folder is not None:
        return _lock_folder(place.folder)
    connection = reach(place, engine).execution_options(isolation_level="AUTOCOMMIT")
    with store_errors(place.words):
        taken = connection.execute(_TAKE_LOCK, {"lock": _LOCK})
    if not taken.scalar():
        connection.close()
        raise StoreError(
            f"another console is using the database {place.words}; stop it first, or choose "
            "another database"
        )

    def let_go() -> None:
        connection.invalidate()  # closes it for good, and the server lets go of the lock
        connection.close()

    return let_go


def _lock_folder(folder: Path) -> Callable[[], None]:
    private_file(folder / "in-use.sqlite")
    file = sqlite3.connect(
        folder / "in-use.sqlite", isolation_level=None, timeout=0, check_same_thread=False
    )
    try:
        file.execute("BEGIN EXCLUSIVE")
    except sqlite3.Error as error:
        file.close()
        raise StoreError(
            f"another console is using the folder {folder}; stop it first, or choose another folder"
        ) from error
    return file.close


def _sqlite(file: Path) -> URL:
    return URL.create("sqlite", database=str(file))


def _sqlite_opened(raw: Any, _: object) -> None:
    raw.isolation_level = None  # the driver begins nothing by itself
    raw.execute("PRAGMA synchronous = FULL")
    raw.execute("PRAGMA foreign_keys = ON")


def _write_ahead(raw: Any, _: object) -> None:
    raw.execute("PRAGMA journal_mode = WAL")


def _sqlite_begins(connection: Connection) -> None:
    immediate = connection.get_execution_options().get("immediate", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if immediate else "BEGIN")


def _postgresql_opened(raw: Any, _: object) -> None:
    raw.autocommit = True
    raw.execute("SET synchronous_commit TO on")
    raw.execute(f"SET lock_timeout TO '{_WAIT_S}s'")
    raw.autocommit = False
