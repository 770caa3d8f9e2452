"""Tables as Parquet files with their dictionary, in groups of rows of one size.

Rules of this file:

- Memory does not grow with the store: at most ``GROUP`` rows of each table wait.
- A column's meaning, unit and allowed values are metadata of its field, so that the file explains
  itself; the same dictionary as for CSV lies beside it.
- pyarrow is an extra (``simengine[parquet]``), since it is larger than all the rest together.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simengine.cohort.records import SessionResult
from simengine.columns import Cell, Column, Table
from simengine.exchange.csv_files import write_dictionary
from simengine.exchange.dictionary import allowed_words
from simengine.exchange.placing import Placing
from simengine.problems import InputError, Problem

if TYPE_CHECKING:
    import pyarrow

GROUP = 10_000
"""Rows that are written at once."""


def write_parquet(
    results: Iterable[SessionResult], folder: Path, tables: Sequence[Table[Any]]
) -> list[Path]:
    """Write each table and the dictionary into ``folder`` and return the files.

    Raises ``InputError`` where pyarrow is not installed.
    """
    _need_pyarrow()
    with ExitStack() as stack:
        placing = stack.enter_context(Placing(folder))
        writers = [
            stack.enter_context(_Writer(table, placing.place(f"{table.name}.parquet")))
            for table in tables
        ]
        for result in results:
            for writer in writers:
                writer.add(result)
        for writer in writers:
            writer.flush()
        write_dictionary(stack, placing, tables)
    return placing.files


class _Writer:
    def __init__(self, table: Table[Any], file: Path) -> None:
        from pyarrow import parquet

        self._table = table
        self._schema = schema_of(table)
        self._rows: list[tuple[Cell, ...]] = []
        self._writer = parquet.ParquetWriter(file, self._schema)

    def add(self, result: SessionResult) -> None:
        self._rows += self._table.cells(result)
        if len(self._rows) >= GROUP:
            self.flush()

    def flush(self) -> None:
        import pyarrow

        if not self._rows:
            return
        columns = [
            pyarrow.array([_cell(cell, column) for cell in cells], field.type)
            for cells, column, field in zip(
                zip(*self._rows, strict=True), self._table.columns, self._schema, strict=True
            )
        ]
        self._writer.write_table(pyarrow.Table.from_arrays(columns, schema=self._schema))
        self._rows = []

    def __enter__(self) -> _Writer:
        return self

    def __exit__(self, *_: object) -> None:
        self._writer.close()


def schema_of(table: Table[Any]) -> pyarrow.Schema:
    """Return the Parquet schema of a table, its dictionary in the fields' metadata."""
    import pyarrow

    types = {
        "text": pyarrow.string(),
        "whole number": pyarrow.int64(),
        "number": pyarrow.float64(),
        "yes or no": pyarrow.bool_(),
        "day": pyarrow.date32(),
        "instant": pyarrow.timestamp("ms", tz="UTC"),
    }
    return pyarrow.schema(
        [
            pyarrow.field(
                column.name,
                types[column.type],
                nullable=column.optional,
                metadata={
                    "meaning": column.meaning,
                    "unit": column.unit,
                    "allowed values": allowed_words(column),
                },
            )
            for column in table.columns
        ],
        metadata={"table": table.name, "meaning": table.meaning},
    )


def _cell(cell: Cell, column: Column[Any]) -> object:
    if column.type == "instant" and isinstance(cell, str):
        from datetime import datetime

        return datetime.fromisoformat(cell)
    return cell


def _need_pyarrow() -> None:
    try:
        import pyarrow  # noqa: F401
    except ImportError:
        raise InputError(
            [
                Problem(
                    "pyarrow",
                    0,
                    0,
                    "",
                    "the package pyarrow, which writes Parquet",
                    "none",
                    "parquet-missing",
                    hint="pip install 'simengine[parquet]', or export CSV, which needs nothing",
                )
            ]
        ) from None
