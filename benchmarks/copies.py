"""Stores of any size, made by copying the shipped sessions' results.

Copies have ids, days and people of their own; 20 roles are held by each person, 50 people are on a
unit, so that units and people grow with the sessions. Their logs are shortened to what lists and
outcomes read, and most are signed.
"""

from __future__ import annotations

import json
import random
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_OID, uuid5

import orjson
from sqlalchemy import Table, insert, select

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

ROLES_EACH = 20
ON_A_UNIT = 50
AT_ONCE = 500
FIRST_DAY = datetime(2021, 1, 4, 8, tzinfo=UTC)
DAYS = 1_800
STANDARD = 0.55
"""As if a panel had set it: under the shipped ones, which are invented, nothing is an attempt."""
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
        holders = sum(len(people_in(original.result)) for original in originals) / len(originals)
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
            standard=STANDARD,
            team={
                role: tuple(codes[code] for code in held)
                for role, held in original.result.team.items()
            },
            items=tuple(
                replace(item, person=codes.get(item.person or "")) for item in original.result.items
            ),
        )
        card = original.card if whole else original.packed
        return self._log(original, result, whole), result, card

    def _log(self, original: Original, result: SessionResult, whole: bool) -> tuple[Event, ...]:
        kept = [each for each in original.events if whole or each.kind in SHORT]
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
        return chained(replace(each, seq=number) for number, each in enumerate(kept))


def people_in(result: SessionResult) -> list[str]:
    """Return the codes of a team."""
    return list(dict.fromkeys(code for held in result.team.values() for code in held))


def unit_name(number: int) -> str:
    """Return the name of a unit."""
    return f"Unit {number:03d}"


def originals() -> list[Original]:
    """Return the shipped sessions."""
    return [Original(log) for log in sorted((scenarios_dir() / "sessions").glob("*.jsonl"))]


def build(folder: Path, size: int) -> None:
    """Make a store of ``size`` sessions, many rows at once."""
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


def build_by_the_store(folder: Path, copies: Copies, number: int) -> None:
    """Make a store of some copies as an import would, a session at a time."""
    with Store.open(folder) as store:
        save_roster(store, copies.roster())
        for nth in range(number):
            events, result, card = copies.copy(nth, whole=False)
            store.add_log(events, unit=result.unit)
            store.put_result(result, json.loads(zlib.decompress(card)))


def check_copies(folder: Path, number: int = 40) -> None:
    """Hold the rows that are made here to those that the store makes; raise if any differs."""
    copies = Copies(originals(), number)
    build_by_the_store(folder / "by the store", copies, number)
    build(folder / "many at once", number)
    with (
        Store.open(folder / "by the store") as original,
        Store.open(folder / "many at once") as other,
    ):
        for table in tables.metadata.sorted_tables:
            if table_rows(original, table) != table_rows(other, table):
                raise SystemExit(f"the copies' rows of {table.name} are not those of the store")


def table_rows(store: Store, table: Table) -> list[tuple[object, ...]]:
    """Return the rows of a table, without how JSON is written or packed."""

    def plain(cell: object) -> object:
        if isinstance(cell, bytes):
            return plain(zlib.decompress(cell).decode())
        return json.dumps(json.loads(cell)) if str(cell)[:1] in ("{", "[") else cell  # type: ignore[arg-type]

    with store.reading() as connection:
        return sorted(
            (tuple(plain(cell) for cell in row) for row in connection.execute(select(table))),
            key=repr,
        )


def flat(table: Table, of: object) -> dict[str, Any]:
    """Return the columns of a table that are fields of ``of``."""
    return {
        column.name: getattr(of, column.name)
        for column in table.columns
        if hasattr(of, column.name)
    }


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
    for item in result.items:
        yield tables.item_results, {**key, "item": item.id, **flat(tables.item_results, item)}
    for fault in result.faults:
        yield tables.fault_results, {**key, "fault": fault.id, **flat(tables.fault_results, fault)}
    for proof in outcomes_in(events).evidence():
        yield (
            tables.evidence,
            {
                **key,
                "code": proof.code,
                "day": proof.day,
                "scenario": proof.scenario,
                "roles": json.dumps(proof.roles, separators=(",", ":")),
            },
        )
