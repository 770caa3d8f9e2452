"""Move a store from one place to another, such as from a folder to a PostgreSQL server.

Rules of this file:

- No console may have either. The new place has to be empty; the old one stays as it was.
- All rows go over in one transaction, and every chain is checked where it arrived before that
  transaction ends.
"""

from __future__ import annotations

from pathlib import Path

from simengine.store.checking import Checked, Progress, check
from simengine.store.copying import copy_rows, is_empty
from simengine.store.log_store import StoreError
from simengine.store.place import place_of
from simengine.store.store import Store


def move(source: Path | str, target: Path | str, on_progress: Progress | None = None) -> Checked:
    """Copy a store into an empty place; return what arrived.

    Raises ``StoreError`` if the new place is not empty, a console has either, or a log did not
    arrive as it was written: then nothing was moved.
    """
    with Store.open(source, alone=True) as old:
        if old.place == place_of(target):
            raise StoreError(f"the store is in {old.where} already")
        with Store.open(target, alone=True) as new, old.reading() as rows, new.begin() as arriving:
            if not is_empty(arriving):
                raise StoreError(f"there is a store in {new.where} already; choose an empty place")
            copy_rows(rows, arriving, on_progress)
            arrived = check(arriving, on_progress)
            if arrived.problems:
                raise StoreError(f"nothing was moved: {arrived.problems[0]}")
            return arrived
