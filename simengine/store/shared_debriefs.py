"""Which personal debriefs a learner lets educators and the coordinator read.

Rules of this file:

- Nothing is shared but what the learner shares; what is taken back is shared no more.
"""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import delete, insert, select

from simengine.store.store import Store
from simengine.store.tables import sessions, shared_debriefs


@dataclass(frozen=True, slots=True)
class Shared:
    """A person's debrief that is shared since ``wall``, of a session planned at ``held`` (UTC)."""

    code: str
    session: str
    wall: str
    held: str


def share(store: Store, code: str, session: str, wall: str) -> None:
    """Share a person's debrief of a session; a second time changes nothing."""
    with store.begin() as connection:
        c = shared_debriefs.c
        query = select(c.wall).where(c.code == code, c.session == session)
        if connection.execute(query).first() is None:
            row = {"code": code, "session": session, "wall": wall}
            connection.execute(insert(shared_debriefs).values(row))


def take_back(store: Store, code: str, session: str) -> None:
    """Share a person's debrief of a session no more."""
    c = shared_debriefs.c
    with store.begin() as connection:
        connection.execute(delete(shared_debriefs).where(c.code == code, c.session == session))


def shared_by(store: Store, code: str) -> dict[str, str]:
    """Return the sessions whose debrief a person shares, each with when (UTC, ISO 8601)."""
    c = shared_debriefs.c
    query = select(c.session, c.wall).where(c.code == code)
    with store.reading() as connection:
        return {row.session: row.wall for row in connection.execute(query)}


def all_shared(store: Store, *, offset: int, limit: int) -> tuple[Shared, ...]:
    """Return what is shared by anybody, the newest first."""
    c = shared_debriefs.c
    query = (
        select(c.code, c.session, c.wall, sessions.c.wall)
        .join(sessions, sessions.c.session == c.session)
        .order_by(c.wall.desc(), c.code, c.session)
        .offset(offset)
        .limit(limit)
    )
    with store.reading() as connection:
        return tuple(Shared(*row) for row in connection.execute(query))
