"""Session logs as rows. Every function works within the transaction of its connection.

Rules of this file:

- Triggers of the database refuse an event that does not follow the last; here events that are
  kept already are told from new ones.
- A log is read with its tail, kept apart by a trigger, so that a lost end shows, and its chain is
  verified, so that a changed letter does.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import takewhile
from typing import Any

from sqlalchemy import Connection, exists, func, insert, select, update

from simengine.people.outcomes import KINDS
from simengine.schemas import complaints
from simengine.session import put_away
from simengine.session.chain import as_json
from simengine.session.events import Event
from simengine.session.log_file import changed_words
from simengine.store import evidence
from simengine.store.counting import set_put_away
from simengine.store.json_text import as_json_text
from simengine.store.log_store import AsKept, ChangedLogError, Planned, Stored, StoreError
from simengine.store.tables import events as events_table
from simengine.store.tables import sessions, tails

_COLUMNS = [column for column in events_table.columns if column.name != "session"]
_EVENTS = select(*_COLUMNS)
_INSERT = insert(events_table)


def create(
    connection: Connection, session: str, wall: str, plan: object, unit: str | None = None
) -> None:
    """Add a session. Raises ``IntegrityError`` if its id is taken."""
    newest = select(func.coalesce(func.max(sessions.c.number), 0) + 1).scalar_subquery()
    connection.execute(
        insert(sessions).values(
            session=session, wall=wall, plan=as_json_text(plan), number=newest, unit=unit
        )
    )


def append_new(connection: Connection, session: str, events: Sequence[Event]) -> None:
    """Add events that are new. Raises ``IntegrityError`` if one is not, or does not follow."""
    if events:
        connection.execute(_INSERT, [_values(session, event) for event in events])
        kinds = {event.kind for event in events}
        renew_put_away(connection, session, kinds)
        renew_evidence(connection, session, kinds)


def renew_put_away(connection: Connection, session: str, kinds: Iterable[str]) -> None:
    """Keep whether a session is put away, where events of these kinds that were added may say so.

    What is put away has no result that counts; what is brought back gets one as it is scored.
    """
    if put_away.KINDS.isdisjoint(kinds) or not _holds(connection, session, "put_away"):
        return
    entry = put_away.standing(of_kinds(connection, session, put_away.KINDS))
    set_put_away(connection, session, None if entry is None else str(entry.data["reason"]))


def renew_evidence(connection: Connection, session: str, kinds: Iterable[str]) -> None:
    """Make a session's evidence anew, where events of these kinds that were added may change it."""
    if KINDS.isdisjoint(kinds) and "put_away" not in kinds:
        return
    if _holds(connection, session, "signed"):
        evidence.renew(connection, session, of_kinds(connection, session, KINDS))


def _holds(connection: Connection, session: str, kind: str) -> bool:
    c = events_table.c
    query = select(c.seq).where(c.session == session, c.kind == kind).limit(1)
    return connection.execute(query).first() is not None


def append(connection: Connection, session: str, events: Sequence[Event]) -> None:
    """Add those events that are not in the log yet. Raises ``StoreError`` if an id is another's."""
    c = events_table.c
    ids = [event.id for event in events]
    rows = connection.execute(_EVENTS.where(c.session == session, c.id.in_(ids)))
    kept = {row.id: tuple(row) for row in rows}
    new = []
    for event in events:
        row = _row(event)
        if event.id not in kept:
            kept[event.id] = row
            new.append(event)
        elif kept[event.id] != row:
            raise StoreError(f"another event with the id {event.id} is in the log already")
    append_new(connection, session, new)


def read(connection: Connection, session: str) -> tuple[Event, ...]:
    """Return a log, its chain verified.

    Raises ``StoreError`` if it is unknown, ``ChangedLogError`` if it is not as it was written.
    """
    kept = as_kept(connection, session)
    if kept.wrong:
        raise ChangedLogError(kept.wrong)
    return kept.events


def to_verify(connection: Connection, session: str) -> tuple[Event, ...]:
    """Return a log whose chain somebody else verifies (``changed_words``): its first entry and its
    end are as they were written.

    Raises ``StoreError`` and ``ChangedLogError`` as ``read`` does.
    """
    c = events_table.c
    rows = connection.execute(_EVENTS.where(c.session == session).order_by(c.seq)).all()
    try:
        events = tuple([_event(tuple(row)) for row in rows])
    except ValueError:
        return read(connection, session)
    last = (events[-1].seq, events[-1].hash) if events else None
    if not events or changed_words(events[:1], session) or tail(connection, session) != last:
        return read(connection, session)
    return events


def as_kept(connection: Connection, session: str) -> AsKept:
    """Return a log however it stands. Raises ``StoreError`` if it is unknown."""
    c = events_table.c
    rows = connection.execute(_EVENTS.where(c.session == session).order_by(c.seq)).all()
    if not rows and not is_known(connection, session):
        raise StoreError(f"there is no session {session}")
    events: list[Event] = []
    wrong = ""
    for row in rows:
        try:
            events.append(_event(tuple(row)))
        except ValueError:
            wrong = f"session {session}, entry {row.seq}: it can't be read any more"
            break
    changed = changed_words(events, session)
    if changed:
        wrong = changed
        events = list(takewhile(_passes_the_schema, events))
    if not wrong:
        last = (events[-1].seq, events[-1].hash) if events else None
        if tail(connection, session) != last:
            wrong = f"the end of the log of session {session} is lost"
    return AsKept(tuple(events), wrong)


def _passes_the_schema(event: Event) -> bool:
    try:
        datetime.fromisoformat(event.wall)
    except ValueError:
        return False
    return next(iter(complaints("session", as_json(event))), None) is None


def of_kinds(connection: Connection, session: str, kinds: Collection[str]) -> tuple[Event, ...]:
    """Return the events of these kinds in a log, in order."""
    c = events_table.c
    query = _EVENTS.where(c.session == session, c.kind.in_(tuple(kinds))).order_by(c.seq)
    return tuple(_event(tuple(row)) for row in connection.execute(query))


def is_known(connection: Connection, session: str) -> bool:
    """Return whether there is such a session."""
    known = select(sessions.c.session).where(sessions.c.session == session)
    return connection.execute(known).first() is not None


def tail(connection: Connection, session: str) -> tuple[int, str] | None:
    """Return ``seq`` and hash of a log's last event, ``None`` if it has none."""
    row = connection.execute(
        select(tails.c.seq, tails.c.hash).where(tails.c.session == session)
    ).first()
    return None if row is None else (row.seq, row.hash)


def planned(
    connection: Connection,
    *,
    away: bool | None = None,
    alone: str | None = None,
    offset: int = 0,
    limit: int | None = None,
) -> tuple[Stored, ...]:
    """Return sessions that were planned here, newest first; all of them without a ``limit``.

    ``away``: those that were put away alone, or all others. ``alone``: those that somebody plays
    without a facilitator, or with an empty text all others.
    """
    c = sessions.c
    query = select(
        c.session, c.wall, c.plan, c.put_away, _has("opened"), _has("closed"), _has("returned")
    ).where(c.plan != _NO_PLAN)
    if away is not None:
        query = query.where(c.put_away.is_not(None) if away else c.put_away.is_(None))
    if alone:
        query = query.where(c.plan.contains(f'"alone":{as_json_text(alone)},', autoescape=True))
    elif alone is not None:
        nobody = c.plan.contains('"alone":"",', autoescape=True)
        query = query.where(nobody | ~c.plan.contains('"alone":', autoescape=True))
    rows = connection.execute(
        query.order_by(c.number.desc(), c.session).offset(offset).limit(limit)
    )
    return tuple(
        Stored(
            Planned(row.session, row.wall, json.loads(row.plan)),
            bool(row.opened),
            bool(row.closed),
            bool(row.returned),
            row.put_away or "",
        )
        for row in rows
    )


def add(
    connection: Connection,
    events: Sequence[Event],
    plan: Mapping[str, Any] | None,
    unit: str | None,
) -> bool:
    """Add a whole log, or what follows on the part of it that is kept; False if all of it is.

    Raises ``StoreError`` if another log is kept under its id.
    """
    if not events or events[0].kind != "opened":
        raise StoreError("expected a log that begins with the event 'opened'")
    session = str(events[0].data["session"])
    if is_known(connection, session):
        kept = read(connection, session)
        both = min(len(kept), len(events))
        if kept[:both] != tuple(events[:both]):
            raise StoreError(f"another log of the session {session} is in the store already")
        new = events[both:]
    else:
        create(connection, session, events[0].wall, plan, unit)
        new = events
    if unit is not None:
        connection.execute(update(sessions).where(sessions.c.session == session).values(unit=unit))
    append_new(connection, session, new)
    return bool(new)


def all_logs(connection: Connection, *, counting: bool = False) -> Iterator[str]:
    """Return the ids of all sessions that have a log, in the order in which they were added.

    ``counting``: without those that were put away.
    """
    query = select(tails.c.session).join(sessions, sessions.c.session == tails.c.session)
    if counting:
        query = query.where(sessions.c.put_away.is_(None))
    rows = connection.execute(query.order_by(sessions.c.number, sessions.c.session))
    return rows.scalars()


_NO_PLAN = as_json_text(None)
_NAMES = tuple(column.name for column in _COLUMNS)


def _has(kind: str) -> Any:
    c = events_table.c
    return exists().where(c.session == sessions.c.session, c.kind == kind).label(kind)


def _values(session: str, event: Event) -> dict[str, object]:
    return {"session": session, **dict(zip(_NAMES, _row(event), strict=True))}


def _row(event: Event) -> tuple[object, ...]:
    return (
        event.seq,
        event.id,
        event.at_ms,
        event.noted_ms,
        event.wall,
        event.kind,
        event.by,
        as_json_text(event.data),
        event.prev,
        event.hash,
    )


def _event(row: tuple[Any, ...]) -> Event:
    seq, id_, at_ms, noted_ms, wall, kind, by, data, prev, hash_ = row
    return Event(seq, id_, at_ms, noted_ms, wall, kind, by, json.loads(data), prev, hash_)
