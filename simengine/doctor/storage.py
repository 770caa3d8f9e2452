"""Whether the store opens, is of today's version, and every chain in it is whole.

Rules of this file:

- Nothing is changed: an older store is not brought up to today's version, and nothing is locked
  longer than it takes to see whether somebody else has it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime

from sqlalchemy import Connection, select, text

from simengine.doctor.finding import Finding
from simengine.store.checking import Progress, check
from simengine.store.database_errors import store_errors
from simengine.store.log_store import StoreError
from simengine.store.place import Place, engine_of, lock, reach
from simengine.store.revisions import revision_of
from simengine.store.sqlite_files import read_file
from simengine.store.tables import REVISION, events

_BACKUP = "restore a backup: simengine store restore BACKUP --replace"
_MOST_TOLD = 5
_APART_S = 5
"""Seconds by which two clocks may differ before somebody should know."""


def of_store(place: Place, now: datetime, on_progress: Progress | None = None) -> Iterator[Finding]:
    """Look at a store; ``now``: the time of day on this machine, with its zone."""
    if place.file is not None and not place.file.exists():
        yield Finding("store", "good", f"none in {place.words} yet; the first console makes it")
        return
    try:
        with _read(place) as connection:
            revision = revision_of(connection)
            if revision != REVISION:
                yield _of_another_version(place, revision)
                return
            yield Finding("store", "good", f"{place.words} opens, and is of today's version")
            yield from _chains(connection, on_progress)
            yield from _clock(connection, now)
    except StoreError as error:
        yield Finding("store", "wrong", str(error), f"if it did open before, {_BACKUP}")


def in_use(place: Place) -> bool:
    """Whether a console has the store."""
    if place.file is not None and not place.file.with_name("in-use.sqlite").exists():
        return False
    engine = engine_of(place)
    try:
        lock(place, engine)()
    except StoreError as error:
        return "another console" in str(error)
    finally:
        engine.dispose()
    return False


@contextmanager
def _read(place: Place) -> Iterator[Connection]:
    if place.file is not None:
        with read_file(place.file) as connection:
            yield connection
        return
    engine = engine_of(place)
    try:
        with reach(place, engine) as connection, store_errors(place.words):
            yield connection
    finally:
        engine.dispose()


def _of_another_version(place: Place, revision: str | None) -> Finding:
    if revision is None:
        return Finding("store", "good", f"{place.words} is empty; the first console fills it")
    words = f"{place.words} is of version {revision}; this program has {REVISION}"
    do = "make a backup (simengine store backup), then start the console: it is brought up then"
    return Finding("store", "look", words, do)


def _chains(connection: Connection, on_progress: Progress | None) -> Iterator[Finding]:
    checked = check(connection, on_progress)
    for words in checked.problems[:_MOST_TOLD]:
        yield Finding("chains", "wrong", words, f"find out who changed it, then {_BACKUP}")
    more = len(checked.problems) - _MOST_TOLD
    if more > 0:
        do = "see them all: simengine store check"
        yield Finding("chains", "wrong", f"{more:,} more are not as they were written", do)
    if not checked.problems:
        words = f"{checked.sessions:,} sessions with {checked.events:,} entries, every chain whole"
        yield Finding("chains", "good", words)


def _clock(connection: Connection, now: datetime) -> Iterator[Finding]:
    newest = connection.execute(select(events.c.wall).order_by(events.c.wall.desc()).limit(1))
    last = newest.scalar()
    ahead = _seconds_ahead(last, now)
    if ahead > _APART_S:
        words = f"it is behind the newest entry ({last}) by {ahead:,.0f} s"
        yield Finding("clock", "wrong", words, "set this machine's clock, best by the network's")
    else:
        yield Finding("clock", "good", f"{now:%Y-%m-%d %H:%M:%S %Z}, not behind any entry")
    if connection.dialect.name != "sqlite":
        server = connection.execute(text("SELECT clock_timestamp()")).scalar_one()
        apart = abs((server - now).total_seconds())
        if apart > _APART_S:
            words = f"the database server's clock differs from this machine's by {apart:,.0f} s"
            yield Finding("clock", "look", words, "set both by the network's time")


def _seconds_ahead(last: str | None, now: datetime) -> float:
    if last is None:
        return 0
    return (datetime.fromisoformat(last) - now).total_seconds()
