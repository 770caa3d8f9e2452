"""Tables as CSV files (RFC 4180) with their dictionary, written row by row.

Rules of this file:

- One pass over the results writes all tables, so memory does not grow with the store.
- A byte order mark tells spreadsheets that it is UTF-8. Text is quoted, numbers are not.
- A text that a spreadsheet would run as a formula is made harmless, see ``guard``.
- Files are written beside their place and then take it, so that none is ever half there.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from simengine.cohort.records import SessionResult
from simengine.columns import Cell, Table
from simengine.exchange.dictionary import HEADER, OWN, dictionary_rows
from simengine.exchange.harmless_cells import guarded
from simengine.exchange.placing import Placing


def write_csv(
    results: Iterable[SessionResult],
    folder: Path,
    tables: Sequence[Table[Any]],
) -> list[Path]:
    """Write each table and the dictionary into ``folder`` and return the files."""
    with ExitStack() as stack:
        placing = stack.enter_context(Placing(folder))
        writers = [(table, _writer(stack, placing.place(f"{table.name}.csv"))) for table in tables]
        for table, writer in writers:
            writer.writerow([column.name for column in table.columns])
        for result in results:
            for table, writer in writers:
                writer.writerows([_cell(cell) for cell in cells] for cells in table.cells(result))
        write_dictionary(stack, placing, tables)
    return placing.files


def write_rows(
    stack: ExitStack, placing: Placing, name: str, rows: Iterable[Sequence[Cell]]
) -> None:
    """Write one file of rows, its header first."""
    writer = _writer(stack, placing.place(name))
    writer.writerows([_cell(cell) for cell in row] for row in rows)


def write_dictionary(
    stack: ExitStack,
    placing: Placing,
    tables: Sequence[Table[Any]],
    name: str = "dictionary.csv",
    more: Sequence[tuple[str, str]] = OWN,
) -> None:
    """Write the dictionary of some tables; ``more``: further rules, as (name, words)."""
    rows: list[Sequence[Cell]] = [HEADER, *dictionary_rows(tables, more)]
    write_rows(stack, placing, name, rows)


def _writer(stack: ExitStack, file: Path) -> Any:
    opened = stack.enter_context(file.open("w", encoding="utf-8-sig", newline=""))
    return csv.writer(opened, quoting=csv.QUOTE_NONNUMERIC)


def _cell(cell: Cell) -> str | int | float:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return guarded(cell)
    if isinstance(cell, bool):
        return "true" if cell else "false"
    return cell if isinstance(cell, int | float) else cell.isoformat()
