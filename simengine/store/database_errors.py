"""What goes wrong in a database, in one sentence for a person."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import exc

from simengine.store.log_store import StoreError

_FULL = "the disk is full, so nothing of this was kept; make room and try again"
_LOCKED = "another program has been writing to it for too long; try again"
DAMAGED = "the file is damaged; restore a backup"
_SQLITE = {
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_BUSY: _LOCKED,
    sqlite3.SQLITE_LOCKED: _LOCKED,
    sqlite3.SQLITE_NOTADB: "the file is no SQLite database, or is damaged",
    sqlite3.SQLITE_CORRUPT: DAMAGED,
    sqlite3.SQLITE_READONLY: "the file may not be written to",
    sqlite3.SQLITE_CANTOPEN: "the file can't be opened",
    sqlite3.SQLITE_IOERR: "the disk can't be read or written",
}
# PostgreSQL's own codes: https://www.postgresql.org/docs/current/errcodes-appendix.html
_POSTGRESQL = {
    "53100": _FULL,
    "55P03": _LOCKED,
    "42501": "this user may not do that there",
    "25006": "it may only be read there",
}


@contextmanager
def store_errors(where: str) -> Iterator[None]:
    """Turn a database's complaints into ``StoreError``. ``where``: the store, in words."""
    try:
        yield
    except exc.DBAPIError as error:
        raise StoreError(f"the store in {where} says: {words_of(error.orig)}") from error
    except exc.TimeoutError as error:
        raise StoreError(f"the store in {where} is too busy; try again") from error
    except sqlite3.Error as error:
        raise StoreError(f"the store in {where} says: {words_of(error)}") from error
    except UnicodeDecodeError as error:  # SQLite's complaint, which quotes what is damaged
        raise StoreError(f"the store in {where} says: {DAMAGED}") from error


def words_of(error: BaseException | None) -> str:
    """Return what a driver's error means, in one line."""
    if isinstance(error, sqlite3.Error):
        # the low byte is the kind of error, the rest its finer kind
        known = _SQLITE.get(getattr(error, "sqlite_errorcode", 0) & 0xFF)
    else:
        known = _POSTGRESQL.get(getattr(error, "sqlstate", None) or "")
    if known is not None:
        return known
    if error is None:
        return "something that it does not explain"
    first = str(error).strip().partition("\n")[0]
    if "FATAL:" in first:  # the server's own words
        return first.rpartition("FATAL:")[2].strip()
    why = first.rpartition("failed: ")[2]
    return why if why == first else f"no server answers there ({why})"
