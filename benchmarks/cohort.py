"""How the store, the coordinator's pages, the cohort report and the exports grow with the store.

Stores of 1,000, 10,000 and 100,000 sessions are made by copying the shipped sessions' results with
new ids, days and people (20 roles held by each, 50 people on a unit), and signing some; their
logs are shortened to what lists and outcomes read. Then, in processes of their own, for each size:

- import: whole logs with their results, one commit each, beside a bare INSERT of the same rows;
- pages: the coordinator's, for one unit of 50 people and for all, beside the aggregate;
- report and export: of the whole store, time and largest memory, beside the aggregate;
- the aggregate: count and mean credit of each item over the same rows, by SQL alone.

Asked: growth no worse than linear from one size to the next, and one unit's pages do not grow.
Run as ``python -m benchmarks.cohort [SIZE …]``.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_OID, uuid5

import orjson
from sqlalchemy import Table, insert

from benchmarks.cold import KIB_PER_UNIT
from simengine.cohort.from_card import result_of
from simengine.cohort.records import SessionResult
from simengine.people.outcomes import outcomes_in
from simengine.people.roster import Posting, Requirement, Roster, Trainee
from simengine.resources import scenarios_dir
from simengine.scoring import score
from simengine.scoring.as_json import card_as_json
from simengine.session import read_log
from simengine.session.chain import as_json, chained
from simengine.session.events import Event
from simengine.session.fold import fold
from simengine.session.from_file import scenario_for
from simengine.store import Store, tables
from simengine.store.people import save_roster

SIZES = (1_000, 10_000, 100_000)
ROLES_EACH = 20
ON_A_UNIT = 50
IMPORTED = 100
"""Whole logs that are imported to measure the rate."""
AT_ONCE = 500
FIRST_DAY = datetime(2021, 1, 4, 8, tzinfo=UTC)
DAYS = 1_800
TODAY = date(2026, 1, 5)
COMMAND = "import sys; from simengine.cli.main import main; sys.exit(main(sys.argv[1:]))"
AGGREGATE = "SELECT item, COUNT(*), AVG(credit) FROM item_results WHERE applied GROUP BY item"
SHORT = frozenset(("opened", "confirmed", "closed"))


class Original:
    """A shipped session with its score."""

    def __init__(self, log: Path) -> None:
        self.events = read_log(log)
        scenario, _ = scenario_for(self.events[0].data, ())
        session = fold(scenario, self.events)
        card = score(session, redraws=50)
        self.result = result_of(session, card, unit=None)
        self.card = card_as_json(card)
        self.packed = zlib.compress(json.dumps(self.card).encode(), level=1)


class Copies:
    """Copies of the originals, the same for the same size and number."""

    def __init__(self, originals: Sequence[Original], size: int) -> None:
        self._originals = originals
        holders = sum(len(people_in(one.result)) for one in originals) / len(originals)
        self.units = max(1, round(size * holders / ROLES_EACH / ON_A_UNIT))

    def roster(self) -> Roster:
        """Return everybody, and what they need."""
        since = date(2020, 1, 1)
        people = tuple(
            Trainee(f"p{unit:03d}{n:02d}", "nurse", (Posting(unit_name(unit), since),))
            for unit in range(self.units)
            for n in range(ON_A_UNIT)
        )
        needs = (
            Requirement("any", "A resuscitation", 12),
            Requirement("cot", "Preparing the cot", 6, scenarios=("cot-term",)),
        )
        return Roster(people, needs)

    def copy(self, number: int, *, whole: bool) -> tuple[tuple[Event, ...], SessionResult, Any]:
        """Return a log, its result and card; ``whole``: all its events, else the card packed."""
        chance = random.Random(number)
        original = self._originals[number % len(self._originals)]
        unit = chance.randrange(self.units)
        session = str(uuid5(NAMESPACE_OID, f"{number} {whole}"))
        opened = FIRST_DAY + timedelta(days=chance.randrange(DAYS), minutes=chance.randrange(480))
        wall = opened.isoformat(timespec="milliseconds").replace("+00:00", "Z")
        old = people_in(original.result)
        new = dict(zip(old, chance.sample(range(ON_A_UNIT), len(old)), strict=True))
        codes = {code: f"p{unit:03d}{n:02d}" for code, n in new.items()}
        result = replace(
            original.result,
            session=session,
            wall=wall,
            day=opened.date(),
            unit=unit_name(unit),
            purpose="summative" if chance.random() < 0.6 else "formative",
            confirmed=True,
            team={
                role: tuple(codes[one] for one in held)
                for role, held in original.result.team.items()
            },
            items=tuple(
                replace(item, person=codes.get(item.person or "")) for item in original.result.items
            ),
        )
        card = original.card if whole else original.packed
        return self._log(original, result, whole), result, card

    def _log(self, original: Original, result: SessionResult, whole: bool) -> tuple[Event, ...]:
        kept = [one for one in original.events if whole or one.kind in SHORT]
        kept[0] = replace(
            kept[0],
            wall=result.wall,
            data={
                **kept[0].data,
                "session": result.session,
                "purpose": result.purpose,
                "team": {role: list(held) for role, held in result.team.items()},
            },
        )
        last = kept[-1]
        for kind in ("confirmed", "signed"):
            data = {"name": "A. Sessor", "credentials": "RN", "outcome": "achieved"}
            event = replace(last, kind=kind, data=data if kind == "signed" else {})
            if kind == "confirmed" or result.purpose == "summative":
                kept.append(replace(event, id=f"00000000-0000-4000-8000-{len(kept):012d}"))
        return chained(replace(one, seq=number) for number, one in enumerate(kept))


def people_in(result: SessionResult) -> list[str]:
    """Return the codes of a team."""
    return list(dict.fromkeys(code for held in result.team.values() for code in held))


def unit_name(number: int) -> str:
    """Return the name of a unit."""
    return f"Unit {number:03d}"


def originals() -> list[Original]:
    """Return the shipped sessions."""
    return [Original(log) for log in sorted((scenarios_dir() / "sessions").glob("*.jsonl"))]


def build(folder: Path, size: int) -> float:
    """Make a store of ``size`` sessions, many rows at once; return how long it took, in s."""
    began = time.perf_counter()
    copies = Copies(originals(), size)
    with Store.open(folder) as store:
        save_roster(store, copies.roster())
        for start in range(0, size, AT_ONCE):
            rows: dict[Table, list[dict[str, Any]]] = {}
            for number in range(start, min(size, start + AT_ONCE)):
                for table, row in rows_of(number, *copies.copy(number, whole=False)):
                    rows.setdefault(table, []).append(row)
            with store.begin() as connection:
                for table, some in rows.items():
                    connection.execute(insert(table), some)
        # the store must find what it would have written itself
        events, result, _ = copies.copy(0, whole=False)
        if store.result(result.session) != result or store.events(result.session) != events:
            raise SystemExit("a copy is not what was meant to be stored")
    return time.perf_counter() - began


def rows_of(
    number: int, events: Sequence[Event], result: SessionResult, card: bytes
) -> Iterator[tuple[Table, dict[str, Any]]]:
    """Yield the rows that the store would make of a session."""
    key = {"session": result.session}
    place = {"wall": result.wall, "unit": result.unit}
    yield tables.sessions, {**key, **place, "plan": "null", "number": number + 1}
    for event in events:
        data = json.dumps(event.data, ensure_ascii=False, separators=(",", ":"))
        yield tables.events, {**key, **as_json(event), "data": data}
    digests = {name: getattr(result, name) for name in ("scenario_digest", "protocol_digest")}
    same = ("program", "day", "scenario", "purpose", "confirmed", "total", "outcome")
    yield (
        tables.results,
        {
            **key,
            **place,
            **digests,
            **{name: getattr(result, name) for name in same},
            "log_hash": events[-1].hash,
            "current": True,
            "number": 1,
            "result": orjson.dumps(result).decode(),
            "card": card,
        },
    )
    for role, held in result.team.items():
        for code in held:
            yield tables.takings, {**key, "code": code, "role": role}
    names = [one.name for one in tables.item_results.columns if one.name not in ("session", "item")]
    for item in result.items:
        flat = {name: getattr(item, name) for name in names}
        yield tables.item_results, {**key, "item": item.id, **flat}
    for found in outcomes_in(events).evidence():
        yield (
            tables.evidence,
            {
                **key,
                "code": found.code,
                "day": found.day,
                "scenario": found.scenario,
                "roles": json.dumps(found.roles, separators=(",", ":")),
            },
        )


# --- the parts, each in a process of its own -------------------------------------------------


def import_part(folder: Path, size: int) -> dict[str, float]:
    """Import whole logs with results, beside a bare INSERT of the same rows, in s for each."""
    copies = Copies(originals(), size)
    made = [copies.copy(number, whole=True) for number in range(IMPORTED)]
    with Store.open(folder) as store:

        def take_in() -> None:
            for events, result, card in made:
                store.add_log(events, unit=result.unit)
                store.put_result(result, card)

        ours = timed(take_in)
    bare = sqlite3.connect(folder / "bare.sqlite", isolation_level=None)
    bare.execute("PRAGMA journal_mode = WAL")
    bare.execute("PRAGMA synchronous = FULL")
    bare.execute("CREATE TABLE rows (session TEXT, number INTEGER, body TEXT)")

    def insert() -> None:
        for events, result, card in made:
            parts = [*(one.data for one in events), *(one.id for one in result.items), card]
            rows = [(result.session, n, json.dumps(one)) for n, one in enumerate(parts)]
            bare.execute("BEGIN IMMEDIATE")
            bare.executemany("INSERT INTO rows VALUES (?, ?, ?)", rows)
            bare.execute("COMMIT")

    return {"import": ours / IMPORTED, "bare INSERT": timed(insert) / IMPORTED}


def pages_part(folder: Path, size: int) -> dict[str, float]:
    """Load the coordinator's pages, in s, the median of some loads."""
    from benchmarks.coordinator import coordinator

    del size
    with coordinator(folder, TODAY) as load:
        unit = unit_name(0).replace(" ", "+")
        return {
            name: statistics.median(timed(lambda: load(address)) for _ in range(5))  # noqa: B023
            for name, address in {
                "due, one unit": f"/cohort?unit={unit}",
                "matrix, one unit": f"/cohort/matrix?unit={unit}",
                "one person": "/cohort/people/p00000",
                "outcomes": "/cohort/outcomes",
                "due, all units": "/cohort",
                "matrix, all units": "/cohort/matrix",
            }.items()
        }


def aggregate_part(folder: Path, size: int) -> dict[str, float]:
    """Count the items and their mean credit by SQL alone."""
    del size
    database = sqlite3.connect(folder / "sessions.sqlite")
    return {"SQL aggregate": timed(lambda: database.execute(AGGREGATE).fetchall())}


PARTS: dict[str, Callable[[Path, int], dict[str, float]]] = {
    "import": import_part,
    "pages": pages_part,
    "aggregate": aggregate_part,
}


def timed(call: Callable[[], object]) -> float:
    """Return how long a call takes, in s."""
    began = time.perf_counter()
    call()
    return time.perf_counter() - began


def in_a_process(command: Sequence[str]) -> tuple[float, float, str]:
    """Run a command: how long it takes in s, its largest memory in MiB, what it prints."""
    began = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    printed = process.stdout.read()
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        raise SystemExit(f"{' '.join(command)} ended with status {process.returncode}")
    return time.perf_counter() - began, used.ru_maxrss * KIB_PER_UNIT / 1024, printed


def measured(folder: Path, size: int) -> Iterator[tuple[str, float, float]]:
    """Yield what was measured: its name, seconds, and the largest memory in MiB."""
    for name in PARTS:
        command = [sys.executable, "-m", "benchmarks.cohort", name, str(folder), str(size)]
        _, memory, printed = in_a_process(command)
        for what, seconds in json.loads(printed).items():
            yield what, seconds, memory
    common = ["--data", str(folder), "--output", str(folder / "out")]
    unit = ["--unit", unit_name(0)]
    period = ["--from", FIRST_DAY.date().isoformat(), "--to", TODAY.isoformat()]
    for what, arguments in {
        "export, CSV": ["export", "--csv", *common],
        "export, to publish": ["export", "--published", *common],
        "report, one unit": ["cohort", *common, *unit, *period],
        "report, all units": ["cohort", *common, *period],
    }.items():
        seconds, memory, _ = in_a_process([sys.executable, "-c", COMMAND, *arguments])
        yield what, seconds, memory


def main(sizes: Sequence[int]) -> None:
    """Measure each size and say how much each part grew from the one before."""
    before: dict[str, float] = {}
    for size in sizes:
        with tempfile.TemporaryDirectory(prefix="simengine-cohort-") as made:
            folder = Path(made)
            took = build(folder, size)
            stored = sum(file.stat().st_size for file in folder.iterdir()) / 2**20
            free = shutil.disk_usage(folder).free / 2**30
            print(
                f"{size:,} sessions, made in {took:.0f} s, {stored:,.0f} MiB ({free:.0f} GiB free)"
            )
            times: dict[str, float] = {}
            for what, seconds, memory in measured(folder, size):
                times[what] = seconds
                reference = times.get("SQL aggregate")
                beside = f"{seconds / reference:8.1f} × SQL aggregate" if reference else ""
                growth = f"× {seconds / before[what]:.1f}" if what in before else ""
                told = f"{seconds * 1000:10.1f} ms {memory:6.0f} MiB"
                print(f"  {what:<20} {told}  {growth:<8}{beside}", flush=True)
            before = times


if __name__ == "__main__":
    if len(sys.argv) == 4 and sys.argv[1] in PARTS:
        print(json.dumps(PARTS[sys.argv[1]](Path(sys.argv[2]), int(sys.argv[3]))))
    else:
        main([int(size) for size in sys.argv[1:]] or SIZES)
