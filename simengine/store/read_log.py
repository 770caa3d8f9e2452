"""Who looked at whose record, and when.

Rules of this file:

- Every read of one person's record is written down before it is shown.
- The person and the coordinator may read the list; nothing is ever taken out of it but by erasing
  the person or by the retention that was set.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import insert, select

from simengine.store.store import Store
from simengine.store.tables import accesses as accesses_table


@dataclass(frozen=True, slots=True)
class Access:
    """Somebody in a ``role`` (coordinator …) read ``page`` about ``whom``. ``wall``: UTC."""

    wall: str
    who: str
    role: str
    page: str
    whom: str


def log_accesses(
    store: Store, who: str, role: str, page: str, whom: Iterable[str], wall: str
) -> None:
    """Write down that the records of several people were read at once, as a session's are."""
    reading = {"wall": wall, "who": who, "role": role, "page": page}
    rows = [{**reading, "whom": code} for code in dict.fromkeys(whom)]
    if rows:
        with store.begin() as connection:
            connection.execute(insert(accesses_table), rows)


def accesses(
    store: Store, whom: str, *, offset: int = 0, limit: int | None = None
) -> tuple[Access, ...]:
    """Return who read a person's record, newest first."""
    c = accesses_table.c
    query = (
        select(c.wall, c.who, c.role, c.page, c.whom)
        .where(c.whom == whom)
        .order_by(c.number.desc())
        .offset(offset)
        .limit(limit)
    )
    with store.reading() as connection:
        return tuple(Access(*row) for row in connection.execute(query))
