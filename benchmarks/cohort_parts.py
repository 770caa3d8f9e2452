"""What ``benchmarks.cohort`` measures in a process of its own: ``PART FOLDER SIZE``, JSON out."""

from __future__ import annotations

import json
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

from benchmarks.coordinator import coordinator
from benchmarks.copies import Copies, build, check_copies, originals, unit_name
from simengine.store import Store

IMPORTED = 100
"""Whole logs that are imported to measure the rate."""
LOADS = 5
TODAY = date(2026, 1, 5)
AGGREGATE = "SELECT item, COUNT(*), AVG(credit) FROM item_results WHERE applied GROUP BY item"


def build_part(folder: Path, size: int) -> dict[str, float]:
    """Make the store, after a look whether copies are what the store would make of them."""
    with tempfile.TemporaryDirectory() as small:
        check_copies(Path(small))
    return {"built": timed(lambda: build(folder, size))}


def import_part(folder: Path, size: int) -> dict[str, float]:
    """Import whole logs with results, beside a bare INSERT of the same rows, in s for each."""
    copies = Copies(originals(), size)
    made = [copies.copy(number, whole=True) for number in range(IMPORTED)]
    with Store.open(folder) as store:

        def take_in() -> None:
            for events, result, card in made:
                store.add_log(events, unit=result.unit)
                store.put_result(result, card)

        ours, ours_clock = clocked(take_in)
    bare = sqlite3.connect(folder / "bare.sqlite", isolation_level=None)
    bare.execute("PRAGMA journal_mode = WAL")
    bare.execute("PRAGMA synchronous = FULL")
    bare.execute("CREATE TABLE rows (session TEXT, number INTEGER, body TEXT)")

    def insert() -> None:
        for events, result, card in made:
            parts = [*(event.data for event in events), *(item.id for item in result.items), card]
            rows = [(result.session, n, json.dumps(part)) for n, part in enumerate(parts)]
            bare.execute("BEGIN IMMEDIATE")
            bare.executemany("INSERT INTO rows VALUES (?, ?, ?)", rows)
            bare.execute("COMMIT")

    bare_one, bare_clock = clocked(insert)
    return {
        "import": ours / IMPORTED,
        "import, by the clock": ours_clock / IMPORTED,
        "bare INSERT": bare_one / IMPORTED,
        "same, by the clock": bare_clock / IMPORTED,
    }


def pages_part(folder: Path, size: int) -> dict[str, float]:
    """Load the coordinator's pages, in s, the median of some loads.

    Each is loaded once before, since a console that was just started looks in a thread for sessions
    without a result, which is no page's time.
    """
    del size
    unit = unit_name(0).replace(" ", "+")
    pages = {
        "due, one unit": f"/cohort?unit={unit}",
        "matrix, one unit": f"/cohort/matrix?unit={unit}",
        "drills, one unit": f"/cohort/drills?unit={unit}",
        "one person": "/cohort/people/p00000",
        "one person's audit": "/cohort/people/p00000/audit",
        "outcomes": "/cohort/outcomes",
        "outcomes, one unit": f"/cohort/outcomes?unit={unit}",
        "agreement": "/cohort/agreement",
        "threats": "/cohort/threats",
        "the unit's figures": "/cohort/figures",
        "who read what": "/cohort/access",
        "settings": "/cohort/settings",
        # of more people than one page is of, these ask for a unit first
        "due, all units": "/cohort",
        "matrix, all units": "/cohort/matrix",
        "drills, all units": "/cohort/drills",
    }
    with coordinator(folder, TODAY) as load:
        for address in pages.values():
            load(address)
        return {
            name: statistics.median(timed(lambda: load(address)) for _ in range(LOADS))  # noqa: B023
            for name, address in pages.items()
        }


def aggregate_part(folder: Path, size: int) -> dict[str, float]:
    """Count the items and their mean credit by SQL alone."""
    del size
    database = sqlite3.connect(folder / "sessions.sqlite")
    return {"SQL aggregate": timed(lambda: database.execute(AGGREGATE).fetchall())}


PARTS: dict[str, Callable[[Path, int], dict[str, float]]] = {
    "build": build_part,
    "import": import_part,
    "pages": pages_part,
    "aggregate": aggregate_part,
}


def timed(call: Callable[[], object]) -> float:
    """Return the processor time of a call, in s: the clock also counts what else is running."""
    began = time.process_time()
    call()
    return time.process_time() - began


def clocked(call: Callable[[], object]) -> tuple[float, float]:
    """Return processor time and time by the clock, in s, for what waits for the disk."""
    began = time.perf_counter()
    return timed(call), time.perf_counter() - began


if __name__ == "__main__":
    print(json.dumps(PARTS[sys.argv[1]](Path(sys.argv[2]), int(sys.argv[3]))))
