"""The unit of a session, set right where it was typed wrongly or left out.

Rules of this file:

- A unit stands beside the log, not in it, and in the session's result; both are set in one
  transaction, and the score is as it was.
"""

from __future__ import annotations

from dataclasses import replace

from sqlalchemy import select, update

from simengine.store import results
from simengine.store.log_store import StoreError
from simengine.store.store import Store
from simengine.store.tables import sessions


def put_unit(store: Store, session: str, unit: str) -> str | None:
    """Set where a session was held, and return what stood there before.

    Raises ``StoreError`` where there is no such session.
    """
    c = sessions.c
    with store.begin() as connection:
        row = connection.execute(select(c.unit).where(c.session == session)).first()
        if row is None:
            raise StoreError(f"there is no session {session} in the store")
        connection.execute(update(sessions).where(c.session == session).values(unit=unit))
        result, card = results.current(connection, session), results.card(connection, session)
        if result is not None and card is not None:
            results.put(connection, replace(result, unit=unit), card)
    before: str | None = row.unit
    return before
