"""The same complaint about many rows, told once with its rows.

Rules of this file:

- Complaints are the same that ask for the same in the same column of the same file. From ``MANY``
  on they are told as one: what the first row holds, and which rows.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from simengine.problems import Problem

MANY = 4
_STRETCHES = 6


def gathered(problems: Iterable[Problem]) -> list[Problem]:
    """Return the complaints, those that are the same about many rows as one."""
    groups: dict[tuple[object, ...], list[Problem]] = {}
    for problem in problems:
        key = (problem.file, problem.path, problem.expected, problem.code, problem.level)
        groups.setdefault((*key, problem.line and problem.column), []).append(problem)
    out: list[Problem] = []
    for some in groups.values():
        rows = sorted({problem.line for problem in some})
        if len(rows) < MANY:
            out += some
            continue
        first = min(some, key=lambda problem: problem.line)
        stands = {problem.found for problem in some}
        like = "" if len(stands) == 1 else " and the like"
        hints = {problem.hint for problem in some}
        out.append(
            replace(
                first,
                found=f"{first.found}{like} in {len(rows)} rows ({_rows(rows)})",
                hint=first.hint if len(hints) == 1 else "",
            )
        )
    return sorted(out)


def _rows(rows: Sequence[int]) -> str:
    """Tell rows in stretches: ``2 to 40, 45 and 60``; the last are counted where there are many."""
    stretches: list[list[int]] = []
    for row in rows:
        if stretches and row == stretches[-1][-1] + 1:
            stretches[-1].append(row)
        else:
            stretches.append([row])
    spans = [
        f"{stretch[0]} to {stretch[-1]}" if len(stretch) > 1 else str(stretch[0])
        for stretch in stretches[:_STRETCHES]
    ]
    rest = sum(len(stretch) for stretch in stretches[_STRETCHES:])
    return ", ".join(spans) + (f" and {rest} more" if rest else "")
