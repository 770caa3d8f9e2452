"""A store with a row in every table, for what has to keep all of them."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import Column, Connection, Integer, LargeBinary, select

from simengine.store import Planned, Store
from simengine.store.tables import Day, Flag, Real, metadata
from tests.cohort.made import fault, item, result
from tests.store.logs import WALL, log, opened

Everything = dict[str, list[tuple[Any, ...]]]


def fill(store: Store) -> None:
    """Put something into every table: awkward letters, numbers and empty fields too."""
    store.create(Planned("s2", WALL, {"who": "née Ω\0"}))
    store.create(Planned("s1", WALL, {}))
    store.append("s1", log(3))
    store.add_log(opened(3, "s3"), unit="B2")
    team = {"airway": ("A1", "B2")}
    store.put_result(result(0, item(), item("b", None), session="s3", team=team, faults=(fault(),)),
                     {"total": 0.1 + 0.2, "née": None})  # fmt: skip
    with store.begin() as connection:
        for table in metadata.sorted_tables:
            if connection.execute(select(table)).first() is None:
                row = {column.name: _value(connection, column) for column in table.columns}
                connection.execute(table.insert().values(row))


def everything(connection: Connection) -> Everything:
    """All rows of all tables, in order."""
    return {
        table.name: [
            tuple(row)
            for row in connection.execute(select(table).order_by(*table.primary_key.columns))
        ]
        for table in metadata.sorted_tables
    }


def all_of(store: Store) -> Everything:
    """All rows of a store."""
    with store.reading() as connection:
        return everything(connection)


def _value(connection: Connection, column: Column[Any]) -> Any:
    for key in column.foreign_keys:
        return connection.execute(select(key.column).limit(1)).scalar_one()
    if isinstance(column.type, Day):
        return date(2024, 2, 29)
    if isinstance(column.type, Flag):
        return True
    if isinstance(column.type, LargeBinary):
        return b"\0\xff"
    if column.type is Real:
        return 0.1 + 0.2
    if isinstance(column.type, Integer):
        return 7
    return "née Ω '\";--"
