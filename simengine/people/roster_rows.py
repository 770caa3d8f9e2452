"""The rows of roster files: which kind a file is, and what each of its cells says.

Rules of this file:

- A file's kind is told by its headings, never by its name. Usual headings of personnel offices are
  read as ours (a surname and a first name as the name), which is told. A heading that nothing
  reads is told and its cells are not kept; one that is nearly right is an error.
- Every wrong cell is a problem of its own, with line, column number and heading. A row with one is
  left out of what follows, so that one slip is told once.
- A cell that holds several words (units of a requirement …) has ``;`` or ``|`` between them, or a
  comma.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from difflib import SequenceMatcher

from simengine.nearest_name import name_hint
from simengine.people.csv_table import Row, Table
from simengine.people.days import DayError, Order, order_told_by, read_day
from simengine.people.roster_tables import KINDS, Kind, RosterFile
from simengine.problems import Problem

_PERSON = ("code", "name", "staff_number")
_FIRST = ("first_name", "firstname", "given_name", "given_names", "forename", "forenames")
_LAST = ("surname", "last_name", "lastname", "family_name")
_ALIKE = 0.75
_UNITS = "min|minutes?|h|hours?|days?|months?|years?"
_TIMES = {("year", "months"): 12, ("hour", "minutes"): 60, ("h", "minutes"): 60}
"""How many of a column's unit a cell's own is."""


@dataclass(frozen=True, slots=True)
class Line:
    """A row and the place that complaints about it name."""

    file: str
    row: Row
    headings: Mapping[str, int]

    def problem(
        self, column: str, expected: str, found: str | None = None, code: str = "cell",
        hint: str = "", *, warning: bool = False,
    ) -> Problem:  # fmt: skip
        """Return a complaint about a cell; ``found`` is what stands in it unless told."""
        cell = quoted(self.text(column)) if found is None else found
        return Problem(
            self.file, self.row.line, self.headings.get(column, 1), column, expected, cell, code,
            "warning" if warning else "error", hint=hint,
        )  # fmt: skip

    def text(self, column: str) -> str:
        """Return what a cell says; empty where the file has no such column."""
        return self.row.cells.get(column, "")


class Reader:
    """Reads the cells of one row; ``wrong`` once one of them was."""

    def __init__(
        self, kind: Kind, line: Line, order: Order | None, problems: list[Problem]
    ) -> None:
        self.line = line
        self._columns = KINDS[kind].columns
        self.wrong = False
        self._order = order
        self._problems = problems

    def say(self, column: str, expected: str, found: str | None = None, hint: str = "") -> None:
        """Note that a cell is wrong."""
        self.wrong = True
        self._problems.append(self.line.problem(column, expected, found, hint=hint))

    def words(self, column: str) -> str:
        """Read a name, a title …"""
        its = self._columns[column]
        text = " ".join(self.line.text(column).split())
        if not text:
            if not its.optional:
                self.say(column, its.asked)
        elif len(text) > its.most:
            self.say(column, f"{its.asked} of at most {its.most} letters", f"{len(text)} letters")
        elif text[0] in "=+@-" or any(not letter.isprintable() for letter in text):
            hint = "a spreadsheet program would run this as a formula" if text[0] in "=+@-" else ""
            self.say(column, its.asked, hint=hint)
        return text

    def several(self, column: str) -> tuple[str, ...]:
        """Read a list of words."""
        parts = re.split(r"[;|,\n]", self.line.text(column))
        return tuple(dict.fromkeys(" ".join(part.split()) for part in parts if part.strip()))

    def day(self, column: str) -> date | None:
        """Read a day; ``None`` where the cell is empty."""
        text = self.line.text(column)
        if not text:
            return None
        try:
            return read_day(text, self._order)
        except DayError as error:
            self.say(column, error.expected, hint=error.hint)
            return None

    def needed_day(self, column: str) -> date:
        """Read a day that has to be there."""
        day = self.day(column)
        if day is None and not self.line.text(column):
            self.say(column, "a day such as 2026-03-01")
        return day or date.min

    def until(self, column: str, since: date, what: str = "since") -> date | None:
        """Read a last day, which does not come before ``since``."""
        day = self.day(column)
        if day is not None and since is not date.min and day < since:
            self.say(column, f"no day before '{what}' ({since})", f"{day}")
        return day

    def whole(self, column: str) -> int:
        """Read a whole number of the column's unit; its usual one where the cell is empty."""
        its = self._columns[column]
        text = self.line.text(column)
        if not text and its.usual is not None:
            return its.usual
        match = re.fullmatch(rf"(\d{{1,4}})(?:[.,]0+)?\s*({_UNITS})?", text.lower())
        number = int(match[1]) if match else -1
        if match and match[2]:
            unit = match[2].rstrip("s")
            number *= _TIMES.get((unit, its.unit), 1 if its.unit.startswith(unit) else -1)
        if not its.least <= number <= its.most:
            self.say(column, f"a whole number of {its.unit} from {its.least} to {its.most}")
        return number


def quoted(text: str) -> str:
    """Return what a cell holds, as a complaint tells it."""
    text = " ".join(text.split())
    if not text:
        return "nothing"
    return f"'{text[:60]}…'" if len(text) > 60 else f"'{text}'"


@dataclass(frozen=True, slots=True)
class ReadAs:
    """A heading that is none of ours, and the column that it was read as."""

    file: str
    heading: str
    column: str


def with_known_headings(table: Table, read_as: list[ReadAs]) -> Table:
    """Return the table with each heading under its one name; what was renamed joins ``read_as``."""
    for file in KINDS.values():
        names = _names(file, table.headings)
        if file.tells in names.values():
            return _renamed(table, names, read_as)
    return table


def _names(file: RosterFile, headings: Iterable[str]) -> dict[str, str]:
    """Return each heading's name in a kind of file."""
    headings = tuple(headings)
    also = {other: column.name for column in file.table.columns for other in column.also}
    out: dict[str, str] = {}
    for heading in headings:
        name = also.get(heading, heading)
        taken = name != heading and (name in headings or name in out.values())
        out[heading] = heading if taken else name
    return out


def _renamed(table: Table, names: Mapping[str, str], read_as: list[ReadAs]) -> Table:
    read_as += [
        ReadAs(table.file, heading.replace("_", " "), name)
        for heading, name in names.items()
        if heading != name
    ]
    headings = {names[heading]: number for heading, number in table.headings.items()}
    rows = [{names[heading]: cell for heading, cell in row.cells.items()} for row in table.rows]
    parts = [
        next((heading for heading in some if heading in headings), "") for some in (_FIRST, _LAST)
    ]
    if "name" not in headings and all(parts):
        first, last = parts
        read_as.append(ReadAs(table.file, f"{first} and {last}".replace("_", " "), "name"))
        headings["name"] = headings.pop(last)
        headings.pop(first)
        for row in rows:
            row["name"] = f"{row.pop(first)} {row.pop(last)}".strip()
    return Table(
        table.file,
        table.line,
        headings,
        tuple(Row(row.line, cells) for row, cells in zip(table.rows, rows, strict=True)),
    )


def kind_of(table: Table, problems: list[Problem]) -> Kind | None:
    """Return what a file holds, ``None`` where its headings do not tell; complaints are noted."""
    headings = table.headings
    kind = next((kind for kind, known in KINDS.items() if known.tells in headings), None)
    if kind is None:
        kinds = "; ".join(f"{name} ({', '.join(it.needs)})" for name, it in KINDS.items())
        tells = {known.tells for known in KINDS.values()}
        pairs = [
            (SequenceMatcher(None, tell, it).ratio(), tell) for tell in tells for it in headings
        ]
        likeness, near = max(pairs, default=(0.0, ""))
        hint = f"did you mean '{near}'?" if likeness > _ALIKE else ""
        problems.append(
            _heading_problem(
                table, 1, f"the headings of a roster file: {kinds}", _listed(headings),
                hint,
            )
        )  # fmt: skip
        return None
    known = KINDS[kind]
    missing = [name for name in known.needs if name not in headings]
    if kind != "requirements" and not set(_PERSON) & headings.keys():
        missing.append("code' or 'name")
    spare = [name for name in (*known.needs, *known.may) if name not in headings]
    spare += [other.tells for other in KINDS.values() if other.tells not in headings]
    for heading, number in headings.items():
        if heading in known.needs or heading in known.may:
            continue
        hint = name_hint(heading, spare)
        if "did you mean" in hint:
            problems.append(
                _heading_problem(table, number, f"a heading of {kind}", quoted(heading), hint)
            )
        else:
            problems.append(
                Problem(
                    table.file, table.line, number, "",
                    f"headings of {kind} ({', '.join((*known.needs, *known.may))})",
                    quoted(heading), "heading-unknown", "warning", hint="it is not read or kept",
                )
            )  # fmt: skip
    problems += [
        _heading_problem(table, 1, f"a column '{name}' in a file of {kind}", _listed(headings))
        for name in missing
    ]
    return None if missing else kind


def order_of(table: Table, asked: Order | None, problems: list[Problem]) -> Order | None:
    """Return how days with slashes read in a file: as asked, else as the file itself tells."""
    columns = [column for file in KINDS.values() for column in file.table.columns]
    days = dict.fromkeys(column.name for column in columns if column.type == "day")
    texts = [row.cells[name] for row in table.rows for name in days if name in row.cells]
    try:
        return asked or order_told_by(texts)
    except DayError as error:
        problems.append(
            Problem(
                table.file, table.line, 1, "", error.expected, "both", "days-contradict",
                hint=error.hint,
            )
        )  # fmt: skip
        return None


def lines_of(table: Table) -> Iterable[Line]:
    """Return the rows with the places that complaints name."""
    return (Line(table.file, row, table.headings) for row in table.rows)


def _heading_problem(
    table: Table, number: int, expected: str, found: str, hint: str = ""
) -> Problem:
    return Problem(table.file, table.line, number, "", expected, found, "heading", hint=hint)


def _listed(headings: Iterable[str]) -> str:
    return ", ".join(f"'{heading}'" for heading in headings) or "none"
