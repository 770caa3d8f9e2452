"""Write stored logs anew, or remove them: the one way past the triggers that keep events.

Rules of this file:

- Only erasing a person and the retention that was set come here. All is one transaction: the
  triggers are put aside, the rows are changed, and the triggers stand again before it ends; if
  anything fails, nothing has happened.
- The chain of a log that was written anew is whole again from the first event on, and that it was
  is kept (``resealings``): when, why, how many events, the new last hash. The old last hash is not
  kept, for with it anybody who guesses a code could find out whether it had been there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, delete, insert, text, update

from simengine.session.events import Event
from simengine.store.database_errors import store_errors
from simengine.store.json_text import as_json_text
from simengine.store.store import Store
from simengine.store.tables import events as events_table
from simengine.store.tables import metadata, own_words, resealings, shared_debriefs, tails


@contextmanager
def without_triggers(connection: Connection) -> Iterator[None]:
    """Put the triggers of logs aside as long as the context lasts, within the transaction."""
    if connection.dialect.name == "sqlite":
        query = (
            "SELECT name, sql FROM sqlite_master "
            "WHERE type = 'trigger' AND tbl_name IN ('events', 'tails')"
        )
        kept = connection.execute(text(query)).all()
        for name, _ in kept:
            connection.exec_driver_sql(f'DROP TRIGGER "{name}"')
        yield
        for _, made in kept:
            connection.exec_driver_sql(made)
    else:
        for table in ("events", "tails"):
            connection.exec_driver_sql(f"ALTER TABLE {table} DISABLE TRIGGER USER")
        yield
        for table in ("events", "tails"):
            connection.exec_driver_sql(f"ALTER TABLE {table} ENABLE TRIGGER USER")


def reseal(
    connection: Connection, session: str, events: Sequence[Event], changed: int, wall: str, why: str
) -> None:
    """Put ``events`` in place of a log's own, within ``without_triggers``."""
    c = events_table.c
    for event in events:
        connection.execute(
            update(events_table)
            .where(c.session == session, c.seq == event.seq)
            .values(by=event.by, data=as_json_text(event.data), prev=event.prev, hash=event.hash)
        )
    last = events[-1].hash
    connection.execute(update(tails).where(tails.c.session == session).values(hash=last))
    row = {"session": session, "wall": wall, "events": changed, "hash": last, "why": why}
    connection.execute(insert(resealings).values(row))


def remove_log(connection: Connection, session: str) -> None:
    """Remove a log, what was shared and what was written of it, within ``without_triggers``."""
    for table in (shared_debriefs, own_words):
        connection.execute(delete(table).where(table.c.session == session))
    connection.execute(delete(events_table).where(events_table.c.session == session))
    connection.execute(delete(tails).where(tails.c.session == session))


def scrub(store: Store) -> None:
    """Have the database give up the space in which removed rows still stand.

    Raises ``StoreError`` where somebody else reads or writes it for too long.
    """
    raw = store.engine.raw_connection()
    with store_errors(store.where):
        try:
            driver: Any = raw.driver_connection
            if store.engine.dialect.name == "sqlite":
                driver.execute("VACUUM")
                driver.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            else:
                driver.autocommit = True
                for table in metadata.sorted_tables:
                    driver.execute(f"VACUUM FULL {table.name}")
                driver.autocommit = False
        finally:
            raw.close()
