"""Sessions to come, kept beside the logs: the day's plan of the desk, the coordinator's calendar.

Rules of this file:

- Each change counts one on (``changes``), so that a calendar takes the newer one for the newer.
- What was cancelled is kept, and is on no day's plan.
- People are codes. Who is erased leaves every team.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import orjson
from sqlalchemy import Connection, Select, Table, func, insert, select, update

from simengine.people.bookings import Booking, Team, without
from simengine.store.json_text import as_json_text
from simengine.store.log_store import StoreError
from simengine.store.store import Store
from simengine.store.tables import bookings

_OF_BOOKING = tuple(bookings.c[name] for name in Booking.__dataclass_fields__)
_BESIDE = frozenset(("changes", "cancelled", "session", "ticked"))


def book(store: Store, several: Sequence[Booking]) -> None:
    """Keep sessions to come, all or none, in this order within each day."""
    with store.begin() as connection:
        last = connection.execute(select(func.coalesce(func.max(bookings.c.number), 0)))
        first = int(last.scalar_one()) + 1
        for number, planned in enumerate(several, first):
            connection.execute(insert(bookings).values(**_row(planned), number=number))


def change_booking(store: Store, one: Booking) -> None:
    """Keep it as it is now; what became of it (begun, ticked off, cancelled) stays as it was."""
    row = {name: value for name, value in _row(one).items() if name not in _BESIDE}
    _set(store, one.id, **row, changes=bookings.c.changes + 1)


def cancel(store: Store, id_: str, *, cancelled: bool = True) -> None:
    """Cancel a session to come, or take that back."""
    _set(store, id_, cancelled=cancelled, changes=bookings.c.changes + 1)


def begun(store: Store, id_: str, session: str) -> None:
    """Keep which session was planned from it."""
    _set(store, id_, session=session)


def booking_of(store: Store, session: str) -> Booking | None:
    """Return what a session was planned from, if it was."""
    query = select(*_OF_BOOKING).where(bookings.c.session == session)
    with store.reading() as connection:
        return next(iter(_read(connection, query)), None)


def tick(store: Store, id_: str, wall: str | None) -> None:
    """Tick it off at an instant (UTC, ISO 8601); ``None``: not held after all."""
    _set(store, id_, ticked=wall, **({"session": None} if wall is None else {}))


def booking(store: Store, id_: str) -> Booking | None:
    """Return one session to come."""
    with store.reading() as connection:
        return next(iter(_read(connection, select(*_OF_BOOKING).where(bookings.c.id == id_))), None)


def bookings_between(
    store: Store, first: date, last: date, *, unit: str | None = None, cancelled: bool = False
) -> tuple[Booking, ...]:
    """Return what is to be held from one day to another, both counted, as the days have it.

    ``cancelled``: with what was cancelled.
    """
    c = bookings.c
    query = select(*_OF_BOOKING).where(c.day >= first, c.day <= last)
    if unit is not None:
        query = query.where(c.unit == unit)
    if not cancelled:
        query = query.where(~c.cancelled)
    with store.reading() as connection:
        return tuple(_read(connection, query.order_by(c.day, c.starts == "", c.starts, c.number)))


def bookings_on(store: Store, day: date) -> tuple[Booking, ...]:
    """Return a day's plan."""
    return bookings_between(store, day, day)


def bookings_of(store: Store, code: str, first: date) -> tuple[Booking, ...]:
    """Return what a person is to come to from a day on, without what was cancelled."""
    c = bookings.c
    query = (
        select(*_OF_BOOKING)
        .where(c.day >= first, ~c.cancelled, c.team.contains(code, autoescape=True))
        .order_by(c.day, c.starts == "", c.starts, c.number)
    )
    with store.reading() as connection:
        return tuple(planned for planned in _read(connection, query) if code in planned.people)


def leave_bookings(connection: Connection, code: str) -> int:
    """Take a person out of every team that is to come or came; return in how many they were."""
    return leave_rows(connection, bookings, code)


def leave_rows(connection: Connection, table: Table, code: str) -> int:
    """Take a person out of the ``team`` of each row of a table; return in how many they were."""
    (key,) = table.primary_key.columns
    team = table.c.team
    query = select(key.label("key"), team).where(team.contains(code, autoescape=True))
    changed = 0
    for row in connection.execute(query).all():
        before = team_from_json(row.team)
        after = without(before, code)
        if after != before:
            changed += 1
            values = {"team": team_as_json(after)}
            connection.execute(update(table).where(key == row.key).values(values))
    return changed


def forget_sessions(connection: Connection, sessions: Any) -> None:
    """Keep no longer which session was planned from a booking. ``sessions``: ids, or a query."""
    c = bookings.c
    connection.execute(update(bookings).where(c.session.in_(sessions)).values(session=None))


def team_from_json(text: str) -> dict[str, tuple[str, ...]]:
    """Return a team as ``team`` of a table has it."""
    return {role: tuple(codes) for role, codes in orjson.loads(text).items()}


def team_as_json(team: Team) -> str:
    """Return a team as ``team`` of a table has it."""
    return as_json_text({role: list(codes) for role, codes in team.items()})


def _read(connection: Connection, query: Select[Any]) -> list[Booking]:
    rows = connection.execute(query).mappings()
    return [Booking(**{**row, "team": team_from_json(row["team"])}) for row in rows]


def _row(planned: Booking) -> dict[str, Any]:
    row: Mapping[str, Any] = {name: getattr(planned, name) for name in Booking.__dataclass_fields__}
    return {**row, "team": team_as_json(planned.team)}


def _set(store: Store, id_: str, **values: Any) -> None:
    with store.begin() as connection:
        done = connection.execute(update(bookings).where(bookings.c.id == id_).values(**values))
        if not done.rowcount:
            raise StoreError("this session is no longer planned")
