"""Which sessions count: those that were put away as begun by mistake have no current result.

Rules of this file:

- Lists, figures and evidence are of current results alone, so that what has none is in none.
- Brought back, a session gets its result as it is scored; until then it has none.
"""

from __future__ import annotations

from sqlalchemy import Connection, delete, select, update

from simengine.store.tables import fault_results, item_results, results, sessions, takings


def set_put_away(connection: Connection, session: str, reason: str | None) -> None:
    """Keep why a session is put away, and have its result count no longer; ``None``: it is not."""
    c = sessions.c
    connection.execute(update(sessions).where(c.session == session).values(put_away=reason))
    if reason is not None:
        let_go_of_current(connection, session)


def is_put_away(connection: Connection, session: str) -> bool:
    """Return whether a session counts for nothing, since it was begun by mistake."""
    c = sessions.c
    query = select(c.session).where(c.session == session, c.put_away.is_not(None))
    return connection.execute(query).first() is not None


def let_go_of_current(connection: Connection, session: str) -> None:
    """Have no result of a session count any longer."""
    c = results.c
    counted = (c.session == session, c.current)
    connection.execute(update(results).where(*counted).values(current=False))
    for table in (takings, item_results, fault_results):
        connection.execute(delete(table).where(table.c.session == session))
