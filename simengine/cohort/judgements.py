"""A panel's judgements from the rows of a CSV file.

Rules of this file:

- Angoff: a row for each judge and item, with the columns ``judge``, ``item`` (its id in the marking
  guide) and ``chance``. Every judge judges every item that has a credit; ``avoid`` items are
  deductions and are not judged.
- Borderline regression: a row for each session, with ``global`` (a number, higher is better) and
  ``score``; ``judge`` and ``session`` may stand beside them.
- Chances and scores are per cent (``80 %``, ``80``) or, where the whole column has none above 1,
  fractions (``0.8``). A comma may stand for the point.
- Every wrong cell is a problem of its own, with its line and column; nothing is guessed.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from simengine.nearest_name import name_hint
from simengine.people.csv_table import Row, Table
from simengine.problems import InputError, Problem

ANGOFF = ("judge", "item", "chance")
BORDERLINE = ("global", "score")

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")


@dataclass(frozen=True, slots=True)
class Graded:
    """Sessions with a global grade and a score (fraction of 1); ``judges``: how many are named."""

    grades: tuple[float, ...]
    scores: tuple[float, ...]
    judges: int


def read_angoff(table: Table, items: Collection[str]) -> Mapping[str, Mapping[str, float]]:
    """Return each judge's chance for each of ``items``, the ids of the items with a credit.

    Raises ``InputError`` with every problem.
    """
    problems = _missing_columns(table, ANGOFF)
    if problems:
        raise InputError(problems)
    chances = _shares(table, "chance", problems)
    judged: dict[str, dict[str, float]] = {}
    for row in table.rows:
        judge, item = row.cells["judge"], row.cells["item"]
        if not judge:
            problems.append(_problem(table, row, "judge", "who judged", "nothing", "judge-missing"))
            continue
        mine = judged.setdefault(judge, {})
        if item not in items:
            problems.append(
                _problem(
                    table, row, "item", "the id of an item that has a credit",
                    f"'{item}'" if item else "nothing", "item-unknown", name_hint(item, items),
                )
            )  # fmt: skip
        elif item in mine:
            expected = f"each item once from '{judge}'"
            problems.append(_problem(table, row, "item", expected, f"'{item}' again", "item-twice"))
        else:
            mine[item] = chances.get(row.line, 0.0)
    for judge, mine in judged.items():
        left = [item for item in items if item not in mine]
        if left:
            words = ", ".join(left[:5]) + (f" and {len(left) - 5} more" if len(left) > 5 else "")
            problems.append(
                Problem(
                    table.file, 0, 0, f"judge '{judge}'", "a chance for every item",
                    f"none for {words}", "item-not-judged",
                )
            )  # fmt: skip
    if not judged and not problems:
        problems.append(_empty(table))
    if problems:
        raise InputError(problems)
    return judged


def read_borderline(table: Table) -> Graded:
    """Return the sessions with their grades and scores. Raises ``InputError`` likewise."""
    problems = _missing_columns(table, BORDERLINE)
    if problems:
        raise InputError(problems)
    scores = _shares(table, "score", problems)
    grades = []
    for row in table.rows:
        grade = _number(row.cells["global"])
        if grade is None:
            instead = f"'{row.cells['global']}'" if row.cells["global"] else "nothing"
            expected = "a global grade as a number, such as 3"
            problems.append(_problem(table, row, "global", expected, instead, "grade-wrong"))
        else:
            grades.append(grade)
    if not table.rows:
        problems.append(_empty(table))
    if problems:
        raise InputError(problems)
    judges = {row.cells["judge"] for row in table.rows if row.cells.get("judge")}
    return Graded(tuple(grades), tuple(scores[row.line] for row in table.rows), len(judges))


def _shares(table: Table, column: str, problems: list[Problem]) -> dict[int, float]:
    """Return the column's shares by line."""
    expected = "a share from 0 to 100 %, such as 80 %"
    by_line: dict[int, tuple[Row, float, bool]] = {}
    for row in table.rows:
        text = row.cells[column]
        bare = text.removesuffix("%").strip()
        number = _number(bare)
        if number is None or not 0 <= number <= 100:
            written = f"'{text}'" if text else "nothing"
            problems.append(_problem(table, row, column, expected, written, "share-wrong"))
        else:
            by_line[row.line] = row, number, text.endswith("%")
    per_cent = any(signed or number > 1 for _, number, signed in by_line.values())
    for row, number, signed in by_line.values():
        if per_cent and not signed and 0 < number <= 1:
            hint = "the column is in per cent, so a fraction would be read as less than 1 %"
            written = f"'{row.cells[column]}'"
            problems.append(_problem(table, row, column, expected, written, "share-unclear", hint))
    return {line: number / 100 if per_cent else number for line, (_, number, _) in by_line.items()}


def _number(text: str) -> float | None:
    return float(text.replace(",", ".")) if _NUMBER.fullmatch(text) else None


def _missing_columns(table: Table, needs: tuple[str, ...]) -> list[Problem]:
    there = ", ".join(table.headings) or "none"
    return [
        Problem(
            table.file, table.line, 0, "", f"a column '{name}'", f"the columns {there}",
            "column-missing", hint=name_hint(name, table.headings),
        )
        for name in needs
        if name not in table.headings
    ]  # fmt: skip


def _problem(
    table: Table, row: Row, column: str, expected: str, found: str, code: str, hint: str = ""
) -> Problem:
    number = table.headings[column]
    return Problem(table.file, row.line, number, column, expected, found, code, hint=hint)


def _empty(table: Table) -> Problem:
    return Problem(table.file, 0, 0, "", "a row for each judgement", "none", "no-judgements")
