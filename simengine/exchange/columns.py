"""What a column of an exported table is, so that the table and its dictionary can't part ways.

Rules of this file:

- A column states its type, unit, meaning and allowed values once; table, Parquet schema and
  dictionary are all made from that.
- A cell is a plain value of the column's type, or ``None`` where nothing is known.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Generic, Literal, TypeAlias, TypeVar

from simengine.cohort.records import SessionResult

Cell: TypeAlias = str | int | float | bool | date | None
ColumnType = Literal["text", "whole number", "number", "yes or no", "day", "instant"]
Source = TypeVar("Source")

PYTHON_TYPES: Mapping[ColumnType, type] = {
    "text": str,
    "whole number": int,
    "number": float,
    "yes or no": bool,
    "day": date,
    "instant": str,
}


@dataclass(frozen=True, slots=True)
class Column(Generic[Source]):
    """One column. ``allowed``: its values as a list or in words, empty where any may come.

    ``unit`` is empty where there is none; "fraction of 1" is not in per cent.
    """

    name: str
    type: ColumnType
    meaning: str
    of: Callable[[Source], Cell]
    unit: str = ""
    allowed: tuple[str, ...] = ()
    optional: bool = False
    """Whether a cell may be empty; ``meaning`` says when."""


@dataclass(frozen=True, slots=True)
class Table(Generic[Source]):
    """One table. ``rows`` gives the sources of a session's rows."""

    name: str
    meaning: str
    columns: Sequence[Column[Source]]
    rows: Callable[[SessionResult], Iterator[Source]]

    def cells(self, result: SessionResult) -> Iterator[tuple[Cell, ...]]:
        """Yield the rows of one session."""
        for source in self.rows(result):
            yield tuple(column.of(source) for column in self.columns)
