"""A CSV file as rows of named cells, however a spreadsheet program wrote it.

Rules of this file:

- Commas, semicolons or tabs: the one that the heading row has most of. A first line ``sep=;``
  says it outright.
- UTF-8 with or without a byte order mark, UTF-16 with one; else Windows-1252, with a warning that
  shows a word of it to look at.
- A row keeps the line that it begins on, since a quoted cell may hold line breaks. Empty rows are
  left out. Cells lose blanks at their ends; letters are composed (NFC).
- A file of absurd size, however it is absurd (``simengine.limits``: bytes, lines, rows, columns,
  cells, accents on one letter), is refused before it is taken apart.
- Headings are compared in lower case, with blanks and dashes as ``_``, and without brackets,
  colons, stops and stars.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from simengine.limits import (
    TABLE_BYTES,
    TABLE_COLUMNS,
    TABLE_LINES,
    TABLE_ROWS,
    TABLE_SEPARATORS,
    megabytes,
    read_at_most,
)
from simengine.problems import Problem
from simengine.schemas import is_overloaded

_SEPARATORS = ",;\t"


@dataclass(frozen=True, slots=True)
class Row:
    """A row: its first line in the file, and heading → cell."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Table:
    """A file. ``headings``: name → number of the column, from 1; ``line``: where they stand."""

    file: str
    line: int
    headings: Mapping[str, int]
    rows: tuple[Row, ...]


def read_table(file: Path, problems: list[Problem]) -> Table | None:
    """Return the table in ``file``, ``None`` if it has none; what is wrong joins ``problems``."""
    try:
        raw = read_at_most(file, TABLE_BYTES)
    except OSError as error:
        obstacle = (
            "a folder" if file.is_dir() else (error.strerror or "an error while reading").lower()
        )
        problems.append(_no_table(file, "a CSV file that can be read", obstacle))
        return None
    if raw is None:
        problems.append(_no_table(file, f"at most {megabytes(TABLE_BYTES)}", "a larger file"))
        return None
    text = _text(file, raw, problems)
    if text is None:
        return None
    skipped, separator, text = _separator(text)
    for sign, most, what in (
        ("\n", TABLE_LINES, "lines"),
        (separator, TABLE_SEPARATORS, "cells"),
    ):
        number = text.count(sign)
        if number > most:
            problems.append(_no_table(file, f"at most {most:,} {what}", f"{number:,} of them"))
            return None
    lines = _lines(file, text, separator, skipped, problems)
    if lines is None:
        return None
    if not lines:
        problems.append(_no_table(file, "a row of headings", "an empty file"))
        return None
    (line, names), *rest = lines
    if len(names) > TABLE_COLUMNS:
        expected = f"at most {TABLE_COLUMNS} columns"
        problems.append(_no_table(file, expected, f"{len(names):,} of them"))
        return None
    headings = _headings(file, line, names, problems)
    rows = []
    for at, cells in rest:
        if len(cells) > len(names) and any(cells[len(names) :]):
            problems.append(
                Problem(
                    str(file), at, len(names) + 1, "",
                    f"{len(names)} cells as in the heading row", f"{len(cells)}", "row-too-long",
                    hint="put quotes around a cell that holds the separator",
                )
            )  # fmt: skip
        rows.append(
            Row(at, {name: cells[n - 1] if n <= len(cells) else "" for name, n in headings.items()})
        )
    return Table(str(file), line, headings, tuple(rows))


def _text(file: Path, raw: bytes, problems: list[Problem]) -> str | None:
    if raw.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        expected = "a CSV file (in the spreadsheet program: save as CSV, UTF-8)"
        problems.append(_no_table(file, expected, "a spreadsheet program's own file"))
        return None
    try:
        if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
            text = raw.decode("utf-16")
        else:
            text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        try:
            text = raw.decode("cp1252")
        except UnicodeDecodeError as error:
            before = raw[: error.start].count(b"\n") + 1
            expected = "text in UTF-8 or Windows-1252"
            culprit = f"a byte that is neither, in line {before}"
            problems.append(_no_table(file, expected, culprit))
            return None
        word = next((word for word in re.findall(r"\w+", text) if not word.isascii()), "")
        problems.append(
            Problem(
                str(file), 0, 0, "", "text in UTF-8", f"Windows-1252, such as '{word}'",
                "read-as-windows-1252", "warning",
                hint="look whether the names are right; saving as CSV, UTF-8 avoids it",
            )
        )  # fmt: skip
    if "\0" in text or is_overloaded(text):
        problems.append(_no_table(file, "a CSV file", "a file that is no text"))
        return None
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    return unicodedata.normalize("NFC", text)


def _separator(text: str) -> tuple[int, str, str]:
    """Return how many lines were taken off, the separator, and the text that is left."""
    first, _, rest = text.partition("\n")
    if len(first) == 5 and first.lower().startswith("sep=") and first[4] in _SEPARATORS:
        return 1, first[4], rest
    heading = re.sub(r'"[^"]*"', "", text.lstrip("\n").partition("\n")[0])
    return 0, max(_SEPARATORS, key=heading.count), text


def _lines(
    file: Path, text: str, separator: str, skipped: int, problems: list[Problem]
) -> list[tuple[int, list[str]]] | None:
    """Return the rows that hold something, each with the line that it begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    out = []
    line = skipped + 1
    try:
        for cells in reader:
            stripped = [cell.strip() for cell in cells]
            if any(stripped):
                out.append((line, stripped))
            if len(out) > TABLE_ROWS:
                problems.append(_no_table(file, f"at most {TABLE_ROWS:,} rows", "more"))
                return None
            line = skipped + reader.line_num + 1
    except csv.Error as error:
        expected = "each quote closed, and the separator or the row's end after it"
        problems.append(
            Problem(str(file), line, 1, "", expected, f"in the row here: {error}", "quotes")
        )
        return None
    return out


def _headings(file: Path, line: int, names: list[str], problems: list[Problem]) -> dict[str, int]:
    out: dict[str, int] = {}
    for number, name in enumerate(names, 1):
        key = re.sub(r"[\s-]+", "_", re.sub(r"[():.*]", "", name).strip().lower())
        if key in out:
            problems.append(
                Problem(
                    str(file), line, number, "", "each heading once", f"'{name}' again",
                    "heading-twice",
                )
            )  # fmt: skip
        elif key:
            out[key] = number
    return out


def _no_table(file: Path, expected: str, found: str) -> Problem:
    return Problem(str(file), 0, 0, "", expected, found, "no-table")
