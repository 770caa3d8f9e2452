"""Copy all rows of one store into an empty one, whichever databases they are in.

Rules of this file:

- Both are of today's version. Events go in one by one and in order, past the triggers of the new
  store, which check that each follows the last; a trigger also keeps the ends (``tails``).
- Rows are read in parts, so that memory does not grow with the store.
"""

from __future__ import annotations

from itertools import zip_longest

from sqlalchemy import Connection, Table, func, insert, inspect, literal, select

from simengine.store.checking import Progress
from simengine.store.log_store import StoreError
from simengine.store.revisions import revision_of
from simengine.store.tables import metadata, tails

_IN_PARTS = {"yield_per": 1000}


def is_empty(connection: Connection) -> bool:
    """Return whether a store, of whatever version, holds nothing that anybody put there."""
    if revision_of(connection) is None:
        return True
    names = set(inspect(connection).get_table_names())
    tables = [table for name, table in metadata.tables.items() if name in names]
    return not any(_has_rows(connection, table) for table in tables)


def _has_rows(connection: Connection, table: Table) -> bool:
    return connection.execute(select(literal(1)).select_from(table).limit(1)).first() is not None


def copy_rows(source: Connection, target: Connection, on_progress: Progress | None = None) -> None:
    """Copy everything. Raises ``StoreError`` if the ends of the logs then differ."""
    tables = [table for table in metadata.sorted_tables if table is not tails]
    everything = sum(_count(source, table) for table in tables)
    done = 0
    for table in tables:
        query = select(table).order_by(*table.primary_key.columns)
        rows = source.execute(query, execution_options=_IN_PARTS).mappings()
        for part in rows.partitions():
            target.execute(insert(table), [dict(row) for row in part])
            done += len(part)
            if on_progress is not None:
                on_progress(done, everything)
        _go_on_counting(target, table)
    _compare_tails(source, target)


def _count(connection: Connection, table: Table) -> int:
    return connection.execute(select(func.count()).select_from(table)).scalar_one()


def _go_on_counting(connection: Connection, table: Table) -> None:
    """Have PostgreSQL number the next row after those that were copied with their numbers."""
    column = table.autoincrement_column
    if column is None or connection.dialect.name == "sqlite":
        return
    last = connection.execute(select(func.max(column))).scalar()
    if last is not None:
        sequence = func.pg_get_serial_sequence(table.name, column.name)
        connection.execute(select(func.setval(sequence, last)))


def _compare_tails(source: Connection, target: Connection) -> None:
    query = select(tails).order_by(tails.c.session)
    ours, theirs = (
        connection.execute(query, execution_options=_IN_PARTS) for connection in (source, target)
    )
    for row, other in zip_longest(ours, theirs):
        if row != other:
            raise StoreError(f"the log of session {(row or other).session} did not arrive whole")
