"""Check a store: every hash chain, every end of a log, and what the database says of itself.

Rules of this file:

- Each log is read for itself, so that memory does not grow with the store.
- The first thing that is wrong with a log is told; what follows from it is not.
- A store of an older version, such as an old backup, is checked as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from sqlalchemy import Connection, select, text

from simengine.store import logs
from simengine.store.log_store import StoreError
from simengine.store.tables import events, sessions

Progress = Callable[[int, int], None]
"""Is called with how many are done, and how many there are."""


@dataclass(frozen=True, slots=True)
class Checked:
    """How many sessions and events there are, and what is wrong, in words."""

    sessions: int
    events: int
    problems: tuple[str, ...]


def check(connection: Connection, on_progress: Progress | None = None) -> Checked:
    """Check all that is in a store; the transaction under way makes it of one instant."""
    problems = list(_of_the_database(connection))
    query = select(sessions.c.session).union(select(events.c.session).distinct())
    names = sorted(connection.execute(query).scalars())
    number = 0
    for done, session in enumerate(names, start=1):
        try:
            kept = logs.as_kept(connection, session)
        except StoreError as error:
            problems.append(str(error))
        else:
            number += len(kept.events)
            if kept.wrong:
                problems.append(kept.wrong)
        if on_progress is not None:
            on_progress(done, len(names))
    return Checked(len(names), number, tuple(problems))


def _of_the_database(connection: Connection) -> Iterator[str]:
    """What SQLite finds wrong with its file; PostgreSQL watches over its own."""
    if connection.dialect.name == "sqlite":
        for row in connection.execute(text("PRAGMA integrity_check")).scalars():
            if row != "ok":
                yield f"the file is damaged: {row}"
