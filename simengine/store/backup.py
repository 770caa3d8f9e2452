"""Backups: one SQLite file that holds all of a store, whichever database that is in.

Rules of this file:

- A backup is made beside whoever uses the store, and is of one instant.
- A restore checks every chain of the backup before it touches anything, refuses to take the place
  of what is there unless told to, and even then keeps that in a file.
- A backup of an older version is brought up to today's on the way; the file stays as it is.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from sqlalchemy import text

from simengine.store.checking import Checked, Progress, check
from simengine.store.copying import copy_rows, is_empty
from simengine.store.log_store import StoreError
from simengine.store.place import FILE, Place, engine_of, lock, make_folder, place_of
from simengine.store.revisions import bring_up
from simengine.store.sqlite_files import (
    beside,
    copy_file,
    read_file,
    set_aside,
    todays_file,
    unused,
)
from simengine.store.store import Store
from simengine.store.tables import REVISION_TABLE, metadata


def backup(
    store: Store, file: Path, *, replace: bool = False, on_progress: Progress | None = None
) -> None:
    """Write a store into a file, while it is in use.

    Raises ``StoreError`` if the file is there and ``replace`` is not given, or can't be written.
    """
    if file.exists() and not replace:
        raise StoreError(f"{file} is there already; choose another name, or add --replace")
    with beside(file) as new:
        if store.place.file is not None:
            copy_file(store.place.file, new, str(file))
        else:
            with todays_file(new) as target, store.reading() as source:
                copy_rows(source, target, on_progress)


def check_backup(file: Path, on_progress: Progress | None = None) -> Checked:
    """Check a backup as it is. Raises ``StoreError`` if the file is none."""
    with read_file(file) as connection:
        return check(connection, on_progress)


def restore(
    where: Path | str, file: Path, *, replace: bool = False, on_progress: Progress | None = None
) -> Path | None:
    """Put a backup where a store is to be; return the file in which what was there is kept.

    Raises ``StoreError`` if the backup is not whole, if a console has the store, or if something
    is there and ``replace`` is not given.
    """
    wrong = check_backup(file, on_progress).problems
    if wrong:
        raise StoreError(f"the backup {file} is not whole, so nothing was done: {wrong[0]}")
    place = place_of(where)
    with tempfile.TemporaryDirectory(prefix="simengine-") as folder:
        todays = Path(folder) / FILE
        copy_file(file, todays, place.words)
        with todays_file(todays):
            pass
        if place.folder is not None:
            return _into_folder(place, todays, replace)
        return _into_database(where, todays, replace, on_progress)


def _into_folder(place: Place, todays: Path, replace: bool) -> Path | None:
    """Put a file in the place of a folder's, which may be damaged."""
    make_folder(place)
    assert place.folder is not None
    live = place.folder / FILE
    engine = engine_of(place)
    let_go = lock(place, engine)
    try:
        kept = None
        if live.exists() and not _holds_nothing(live):
            if not replace:
                raise _taken(place)
            kept = unused(place.folder)
        with beside(live) as new:
            copy_file(todays, new, place.words)
            if kept is not None:
                set_aside(live, kept)
        return kept
    finally:
        engine.dispose()
        let_go()


def _into_database(
    where: Path | str, todays: Path, replace: bool, on_progress: Progress | None
) -> Path | None:
    with Store.open(where, alone=True) as store:
        kept = None
        with store.reading() as connection:
            empty = is_empty(connection)
        if not empty:
            if not replace:
                raise _taken(store.place)
            kept = unused(Path.cwd())
            backup(store, kept)
        with store.begin() as target, read_file(todays) as source:
            if kept is not None:
                metadata.drop_all(target)
                target.execute(text(f"DROP TABLE {REVISION_TABLE}"))
                bring_up(target)
            copy_rows(source, target, on_progress)
        return kept


def _holds_nothing(file: Path) -> bool:
    try:
        with read_file(file) as connection:
            return is_empty(connection)
    except StoreError:  # damaged, or another program's: somebody may want it back
        return False


def _taken(place: Place) -> StoreError:
    return StoreError(
        f"there is a store in {place.words} already; add --replace to have the backup take its "
        "place (what is there is then kept in a file)"
    )
