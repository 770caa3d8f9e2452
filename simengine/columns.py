"""What a column of a table is, whether the table is imported or exported.

Rules of this file:

- A column states its name, type, unit, meaning and allowed values once. An exported table, its
  Parquet schema and its dictionary are made from that, and an imported one is read by it.
- A cell is a plain value of the column's type, or ``None`` where nothing is known. ``texts`` are
  several in one cell, with ``; `` between them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Generic, Literal, TypeAlias, TypeVar

Cell: TypeAlias = str | int | float | bool | date | None
ColumnType = Literal["text", "texts", "whole number", "number", "yes or no", "day", "instant"]
Source = TypeVar("Source")

PYTHON_TYPES: Mapping[ColumnType, type] = {
    "text": str,
    "texts": str,
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

    A column that is read says besides: ``asked``, what a cell should hold, as a complaint asks
    for it; ``least`` and ``most``, the ends of a whole number, or the most letters of a text;
    ``usual``, the number that an empty cell means; ``also``, other headings that mean the same.
    """

    name: str
    type: ColumnType
    meaning: str
    of: Callable[[Source], Cell]
    unit: str = ""
    allowed: tuple[str, ...] = ()
    optional: bool = False
    """Whether a cell may be empty; ``meaning`` says when."""
    asked: str = ""
    least: int = 0
    most: int = 120
    usual: int | None = None
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table(Generic[Source]):
    """One table. ``rows`` gives the sources of the rows that one session, or a roster, has."""

    name: str
    meaning: str
    columns: Sequence[Column[Source]]
    rows: Callable[[Any], Iterator[Source]]

    def cells(self, whole: Any) -> Iterator[tuple[Cell, ...]]:
        """Yield the rows of one session, or of a roster."""
        for source in self.rows(whole):
            yield tuple(column.of(source) for column in self.columns)
