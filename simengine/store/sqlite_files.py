"""SQLite files that stand alone: copied while in use, read without being changed, put in place.

Rules of this file:

- A copy is of one instant and made by SQLite's own online backup, so that nobody has to stop.
- A file is written beside its place and takes it once it is whole and on the disk. Nobody else may
  read it, for names are in it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from itertools import count
from pathlib import Path

from sqlalchemy import Connection

from simengine.private_files import make_private, placed
from simengine.store.database_errors import store_errors
from simengine.store.log_store import StoreError
from simengine.store.place import BESIDE, engine_of, place_of_file, reach, writing
from simengine.store.revisions import bring_up, revision_of


def copy_file(source: Path, target: Path, words: str) -> None:
    """Copy a SQLite file, as it is at one instant, to where no file is yet, or an empty one.

    ``words``: what the copy is to become, for a person.
    """
    with (
        store_errors(words),
        closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)) as old,
        closing(sqlite3.connect(target)) as new,
    ):
        old.backup(new)
        new.execute("PRAGMA journal_mode = DELETE")  # so that it is one file


@contextmanager
def read_file(file: Path) -> Iterator[Connection]:
    """Read a store's file without changing it. Raises ``StoreError`` if it is none."""
    if not file.is_file():
        raise StoreError(f"there is no file {file}")
    place = place_of_file(file, to_read=True)
    engine = engine_of(place)
    try:
        with reach(place, engine) as connection, store_errors(place.words):
            if revision_of(connection) is None:
                raise StoreError(f"{file} is not the backup of a store")
            yield connection
    finally:
        engine.dispose()


@contextmanager
def todays_file(file: Path) -> Iterator[Connection]:
    """Write into a store's file, new or brought up to today's version, in one transaction."""
    place = place_of_file(file)
    engine = engine_of(place)
    try:
        with store_errors(place.words), writing(engine).begin() as connection:
            bring_up(connection)
            yield connection
    finally:
        engine.dispose()


@contextmanager
def beside(file: Path) -> Iterator[Path]:
    """Make an empty file beside ``file`` to write to; it then takes its place.

    Raises ``StoreError`` if it can't be written.
    """
    try:
        with placed(file) as new:
            try:
                yield new
                for end in BESIDE:  # what belonged to the old one would be taken for a part of it
                    file.with_name(file.name + end).unlink(missing_ok=True)
            finally:
                for end in BESIDE:
                    new.with_name(new.name + end).unlink(missing_ok=True)
    except OSError as error:
        raise StoreError(f"{file} can't be written: {error.strerror}") from error


def set_aside(file: Path, name: Path) -> None:
    """Give a store's file, whole or damaged, another name, with what SQLite keeps beside it."""
    with suppress(sqlite3.Error), closing(sqlite3.connect(file)) as old:
        old.execute("PRAGMA wal_checkpoint(TRUNCATE)")  # as a rule nothing is beside it then
    for end in (*BESIDE, ""):
        part = file.with_name(file.name + end)
        if part.exists():
            make_private(part)
            part.rename(name.with_name(name.name + end))


def unused(folder: Path) -> Path:
    """Return a name in a folder for what was there before a restore."""
    names = (folder / f"before-restore-{number}.sqlite" for number in count(1))
    return next(name for name in names if not name.exists())
