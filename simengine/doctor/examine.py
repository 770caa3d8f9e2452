"""All that is looked at, in the order in which it is told."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from simengine.doctor.finding import Finding
from simengine.doctor.folder import of_folder
from simengine.doctor.port import of_port
from simengine.doctor.program import of_program
from simengine.doctor.storage import in_use, of_store
from simengine.store.checking import Progress
from simengine.store.log_store import StoreError
from simengine.store.place import place_of


def examine(
    where: Path | str,
    data: Path,
    port: int,
    *,
    now: datetime | None = None,
    on_progress: Progress | None = None,
) -> Iterator[Finding]:
    """Look at everything and change nothing.

    ``where``: the store's folder or address; ``data``: the folder of keys and files. ``now``: the
    time of day with its zone, this machine's if it is left out.
    """
    yield from of_program()
    yield from of_folder(data)
    runs = False
    try:
        place = place_of(where)
        runs = in_use(place)
    except StoreError as error:
        yield Finding("store", "wrong", str(error), "see --data")
    else:
        yield from of_store(place, now or datetime.now(UTC), on_progress)
    if runs:
        yield Finding("console", "good", "one is running on this store")
    yield of_port(port, console_runs=runs)
