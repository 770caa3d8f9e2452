"""Results of sessions as rows: a cache that can always be computed again.

Rules of this file:

- A result belongs to a log (by the hash of its last event), a scenario, a protocol and a program.
  All are kept; the one that was put last for its session is the current one, and lists, indexes
  and flat rows are of the current ones alone. A session that was put away has none.
- Lists are read in parts, each in a transaction of its own, so that whoever is slow to read holds
  up nobody.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import AbstractContextManager
from datetime import date
from typing import Any

import orjson
from sqlalchemy import (
    ColumnElement,
    Connection,
    Select,
    and_,
    delete,
    func,
    insert,
    select,
    tuple_,
)

from simengine.cohort.from_card import from_json
from simengine.cohort.records import FaultResult, ItemResult, SessionResult
from simengine.scoring.packed_card import packed_card
from simengine.store import logs
from simengine.store.counting import is_put_away, let_go_of_current
from simengine.store.log_store import StoreError
from simengine.store.tables import fault_results, item_results, sessions, tails, takings
from simengine.store.tables import results as results_table

_PART = 500
_OF_ITEM = tuple(c.name for c in item_results.columns if c.name not in ("session", "item"))
_OF_FAULT = tuple(c.name for c in fault_results.columns if c.name not in ("session", "fault"))


def put(connection: Connection, result: SessionResult, card: Mapping[str, Any] | bytes) -> None:
    """Keep a result as the current one of its session, with its card as JSON or packed already.

    Raises ``StoreError`` if the session is unknown.
    """
    tail = logs.tail(connection, result.session)
    if tail is None:
        raise StoreError(f"there is no log of session {result.session}")
    c = results_table.c
    key = {
        c.session: result.session,
        c.log_hash: tail[1],
        c.scenario_digest: result.scenario_digest,
        c.protocol_digest: result.protocol_digest,
        c.program: result.program,
    }
    last = select(func.coalesce(func.max(c.number), 0) + 1).where(c.session == result.session)
    number = connection.execute(last).scalar_one()
    connection.execute(delete(results_table).where(*(name == value for name, value in key.items())))
    let_go_of_current(connection, result.session)
    away = is_put_away(connection, result.session)
    connection.execute(
        insert(results_table).values(
            {
                **key,
                c.current: not away,
                c.number: number,
                c.wall: result.wall,
                c.day: result.day,
                c.unit: result.unit,
                c.scenario: result.scenario,
                c.purpose: result.purpose,
                c.confirmed: result.confirmed,
                c.total: result.total,
                c.outcome: result.outcome,
                c.result: orjson.dumps(result).decode(),
                c.card: card if isinstance(card, bytes) else packed_card(card),
            }
        )
    )
    if away:
        return
    held = [
        {"session": result.session, "code": code, "role": role}
        for role, codes in result.team.items()
        for code in dict.fromkeys(codes)
    ]
    if held:
        connection.execute(insert(takings), held)
    items = [_flat(result, "item", item, _OF_ITEM) for item in result.items]
    if items:
        connection.execute(insert(item_results), items)
    faults = [_flat(result, "fault", fault, _OF_FAULT) for fault in result.faults]
    if faults:
        connection.execute(insert(fault_results), faults)
    logs.renew_evidence(connection, result.session, ("signed",))


def current(connection: Connection, session: str) -> SessionResult | None:
    """Return the result that was put last for a session."""
    text = _of_current(connection, session, results_table.c.result)
    return None if text is None else from_json(orjson.loads(text))


def card(connection: Connection, session: str) -> Mapping[str, Any] | None:
    """Return the score card that came with the current result, as JSON."""
    packed = _of_current(connection, session, results_table.c.card)
    if packed is None:
        return None
    kept: dict[str, Any] = orjson.loads(zlib.decompress(packed))
    return kept


def is_kept(
    connection: Connection, session: str, scenario_digest: str, protocol_digest: str, program: str
) -> bool:
    """Return whether the current result is of the log as it is now, and of these."""
    c = results_table.c
    rows = connection.execute(
        select(c.session)
        .join(tails, and_(tails.c.session == c.session, tails.c.hash == c.log_hash))
        .where(
            c.session == session,
            c.current,
            c.scenario_digest == scenario_digest,
            c.protocol_digest == protocol_digest,
            c.program == program,
        )
    )
    return rows.first() is not None


def without(connection: Connection) -> Iterator[str]:
    """Return the sessions whose log, as it is now, has no result, in the order of adding."""
    c = results_table.c
    of_the_log = and_(c.session == tails.c.session, c.log_hash == tails.c.hash, c.current)
    rows = connection.execute(
        select(tails.c.session)
        .join(sessions, sessions.c.session == tails.c.session)
        .outerjoin(results_table, of_the_log)
        .where(c.session.is_(None), sessions.c.put_away.is_(None))
        .order_by(sessions.c.number, sessions.c.session)
    )
    return rows.scalars()


def listed(
    reading: Callable[[], AbstractContextManager[Connection]],
    *,
    unit: str | None = None,
    since: date | None = None,
    until: date | None = None,
    trainee: str | None = None,
    purposes: Collection[str] | None = None,
) -> Iterator[SessionResult]:
    """Yield current results in the order of ``wall``; ``since`` and ``until`` both count."""
    c = results_table.c
    query = select(c.wall, c.session, c.result).where(c.current)
    if unit is not None:
        query = query.where(c.unit == unit)
    if since is not None:
        query = query.where(c.day >= since)
    if until is not None:
        query = query.where(c.day <= until)
    if purposes is not None:
        query = query.where(c.purpose.in_(tuple(purposes)))
    if trainee is not None:
        took = select(takings.c.session).where(takings.c.code == trainee)
        query = query.where(c.session.in_(took))
    wall = c.wall if trainee is None else wall_of_few()
    query = query.order_by(wall, c.session).limit(_PART)
    after: tuple[str, str] | None = None
    while True:
        part = query if after is None else _after(query, after)
        with reading() as connection:
            rows = connection.execute(part).all()
        for row in rows:
            yield from_json(orjson.loads(row.result))
        if len(rows) < _PART:
            return
        after = (rows[-1].wall, rows[-1].session)


def wall_of_few() -> ColumnElement[str]:
    """Return ``wall`` to order a few sessions by that are found by an index of their own.

    Ordered by the column itself, a database goes through all sessions in that order instead.
    """
    return results_table.c.wall.concat("")


def _after(query: Select[Any], last: tuple[str, str]) -> Select[Any]:
    c = results_table.c
    return query.where(tuple_(c.wall, c.session) > last)


def _of_current(connection: Connection, session: str, column: Any) -> Any:
    c = results_table.c
    return connection.execute(select(column).where(c.session == session, c.current)).scalar()


def _flat(
    result: SessionResult, name: str, part: ItemResult | FaultResult, others: tuple[str, ...]
) -> dict[str, Any]:
    """The row of an item or a fault, whose id stands in the column ``name``."""
    row = {other: getattr(part, other) for other in others}
    return {"session": result.session, name: part.id, **row}
