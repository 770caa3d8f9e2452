"""A store of session logs in one SQLite file.

Rules of this file:

- Write-ahead log with ``synchronous=FULL``: a commit that has returned survives a power cut.
- One writer: a second process that opens the same folder is told so. The lock is an open
  transaction on a file of its own, which every system lets go of when the process ends.
- Calls come one at a time; which thread they come from does not matter.
- Each write is one immediate transaction. Triggers refuse to change or remove an event, and to
  add one that does not follow the last (``seq`` by one, ``prev`` its hash).
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from simengine.session.events import Event
from simengine.store.log_store import Planned, Stored, StoreError

FIRST_PREV = "0" * 64

_TABLES = f"""
CREATE TABLE IF NOT EXISTS sessions (
    session TEXT PRIMARY KEY,
    wall    TEXT NOT NULL,
    plan    TEXT NOT NULL
) STRICT;

CREATE TABLE IF NOT EXISTS events (
    session  TEXT    NOT NULL REFERENCES sessions,
    seq      INTEGER NOT NULL,
    id       TEXT    NOT NULL,
    at_ms    INTEGER NOT NULL,
    noted_ms INTEGER NOT NULL,
    wall     TEXT    NOT NULL,
    kind     TEXT    NOT NULL,
    by       TEXT    NOT NULL,
    data     TEXT    NOT NULL,
    prev     TEXT    NOT NULL,
    hash     TEXT    NOT NULL,
    PRIMARY KEY (session, seq),
    UNIQUE (session, id)
) STRICT;

CREATE TABLE IF NOT EXISTS tails (
    session TEXT PRIMARY KEY REFERENCES sessions,
    seq     INTEGER NOT NULL,
    hash    TEXT    NOT NULL
) STRICT;

CREATE TRIGGER IF NOT EXISTS events_are_never_changed BEFORE UPDATE ON events
BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END;

CREATE TRIGGER IF NOT EXISTS events_are_never_removed BEFORE DELETE ON events
BEGIN SELECT RAISE(ABORT, 'an event is never removed'); END;

CREATE TRIGGER IF NOT EXISTS events_follow_the_last BEFORE INSERT ON events
WHEN NEW.seq <> COALESCE((SELECT seq + 1 FROM tails WHERE session = NEW.session), 0)
  OR NEW.prev <> COALESCE((SELECT hash FROM tails WHERE session = NEW.session), '{FIRST_PREV}')
BEGIN SELECT RAISE(ABORT, 'the event does not follow the last one kept'); END;

CREATE TRIGGER IF NOT EXISTS the_last_hash_is_kept AFTER INSERT ON events
BEGIN
    INSERT INTO tails VALUES (NEW.session, NEW.seq, NEW.hash)
    ON CONFLICT (session) DO UPDATE SET seq = NEW.seq, hash = NEW.hash;
END;
"""

_COLUMNS = "seq, id, at_ms, noted_ms, wall, kind, by, data, prev, hash"


class SqliteLogStore:
    """The logs in ``folder``. Raises ``StoreError`` if another process has the folder open."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._lock = _locked(folder / "in-use.sqlite")
        self._db = sqlite3.connect(
            folder / "sessions.sqlite", isolation_level=None, check_same_thread=False
        )
        with _told(folder):
            self._db.execute("PRAGMA journal_mode = WAL")
            self._db.execute("PRAGMA synchronous = FULL")
            self._db.execute("PRAGMA foreign_keys = ON")
            self._db.executescript(_TABLES)

    def create(self, planned: Planned) -> None:
        """Keep a planned session. Raises ``StoreError`` if its id is taken."""
        with self._writing():
            self._db.execute(
                "INSERT INTO sessions VALUES (?, ?, ?)",
                (planned.session, planned.wall, _as_json(planned.plan)),
            )

    def append(self, session: str, events: Sequence[Event]) -> None:
        """Add events to a session's log, all or none; durable on return.

        Raises ``StoreError`` where they do not follow the last one kept, and if the disk fails.
        """
        with self._writing():
            for event in events:
                if not self._is_kept(session, event):
                    self._db.execute(
                        f"INSERT INTO events (session, {_COLUMNS}) "
                        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                        (session, *_row(event)),
                    )

    def events(self, session: str) -> tuple[Event, ...]:
        """Return a session's log. Raises ``StoreError`` if its tail is lost or it is unknown."""
        if self._one("SELECT 1 FROM sessions WHERE session = ?", session) is None:
            raise StoreError(f"there is no session {session}")
        rows = self._db.execute(
            f"SELECT {_COLUMNS} FROM events WHERE session = ? ORDER BY seq", (session,)
        )
        found = tuple(_event(row) for row in rows)
        tail = self._one("SELECT seq, hash FROM tails WHERE session = ?", session)
        last = (found[-1].seq, found[-1].hash) if found else None
        if tail != last:
            raise StoreError(f"the end of the log of session {session} is lost")
        return found

    def sessions(self) -> tuple[Stored, ...]:
        """Return all sessions, newest first."""
        rows = self._db.execute(
            "SELECT session, wall, plan, "
            "EXISTS (SELECT 1 FROM events AS e WHERE e.session = s.session AND kind = 'opened'), "
            "EXISTS (SELECT 1 FROM events AS e WHERE e.session = s.session AND kind = 'closed') "
            "FROM sessions AS s ORDER BY rowid DESC"
        )
        return tuple(
            Stored(Planned(session, wall, json.loads(plan)), bool(opened), bool(closed))
            for session, wall, plan, opened, closed in rows
        )

    def close(self) -> None:
        """Let go of the file and of the folder's lock."""
        self._db.close()
        self._lock.close()

    def _is_kept(self, session: str, event: Event) -> bool:
        kept = self._db.execute(
            f"SELECT {_COLUMNS} FROM events WHERE session = ? AND id = ?", (session, event.id)
        ).fetchone()
        if kept is None:
            return False
        if kept != _row(event):
            raise StoreError(f"another event with the id {event.id} is in the log already")
        return True

    def _one(self, statement: str, session: str) -> object:
        return self._db.execute(statement, (session,)).fetchone()

    @contextmanager
    def _writing(self) -> Iterator[None]:
        with _told():
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise
            self._db.execute("COMMIT")


@contextmanager
def _told(folder: Path | None = None) -> Iterator[None]:
    """Turn SQLite's complaints into ours."""
    try:
        yield
    except sqlite3.Error as error:
        where = f" in {folder}" if folder else ""
        raise StoreError(f"the store{where} says: {error}") from error


def _locked(file: Path) -> sqlite3.Connection:
    lock = sqlite3.connect(file, isolation_level=None, timeout=0, check_same_thread=False)
    try:
        lock.execute("BEGIN EXCLUSIVE")
    except sqlite3.Error as error:
        lock.close()
        raise StoreError(
            f"another console is using the folder {file.parent}; stop it first, or choose "
            "another folder"
        ) from error
    return lock


def _as_json(data: object) -> str:
    return json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _row(event: Event) -> tuple[object, ...]:
    return (
        event.seq,
        event.id,
        event.at_ms,
        event.noted_ms,
        event.wall,
        event.kind,
        event.by,
        _as_json(event.data),
        event.prev,
        event.hash,
    )


def _event(row: tuple[Any, ...]) -> Event:
    seq, id_, at_ms, noted_ms, wall, kind, by, data, prev, hash_ = row
    return Event(seq, id_, at_ms, noted_ms, wall, kind, by, json.loads(data), prev, hash_)
