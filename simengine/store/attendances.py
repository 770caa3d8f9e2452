"""Who was at a training of which no session is kept.

Rules of this file:

- A person was once at a training of a title on a day; told again, it is put right.
- It proves that they were there. Nothing that counts as evidence is ever made from it.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from sqlalchemy import Connection, delete, insert, select

from simengine.people.roster import Attendance
from simengine.store.store import Store
from simengine.store.tables import attendances as attendances_table

_FIELDS = tuple(attendances_table.c[name] for name in Attendance.__dataclass_fields__)


def attendances(
    store: Store, *, code: str | None = None, offset: int = 0, limit: int | None = None
) -> tuple[Attendance, ...]:
    """Return attendances, newest first; ``code``: of this person alone."""
    c = attendances_table.c
    query = select(*_FIELDS).order_by(c.day.desc(), c.title, c.code)
    if code is not None:
        query = query.where(c.code == code)
    with store.reading() as connection:
        rows = connection.execute(query.offset(offset).limit(limit))
        return tuple(Attendance(*row) for row in rows)


def add_attendances(store: Store, some: Collection[Attendance]) -> None:
    """Keep attendances; one that is kept already is put right."""
    with store.begin() as connection:
        keep(connection, some)


def keep(connection: Connection, some: Collection[Attendance]) -> None:
    """Keep attendances within a transaction under way."""
    for attendance in some:
        _remove(connection, attendance.code, attendance.day, attendance.title)
    if some:
        rows = [
            {name: getattr(attendance, name) for name in attendance.__dataclass_fields__}
            for attendance in some
        ]
        connection.execute(insert(attendances_table), rows)


def remove_attendance(store: Store, code: str, day: date, title: str) -> None:
    """Take back an attendance that was recorded by mistake; one that is not there is no error."""
    with store.begin() as connection:
        _remove(connection, code, day, title)


def _remove(connection: Connection, code: str, day: date, title: str) -> None:
    c = attendances_table.c
    this = (c.code == code, c.day == day, c.title == title)
    connection.execute(delete(attendances_table).where(*this))
