"""What is wrong with an input: every complaint of the program is a ``Problem``.

Rules of this file:

- A problem names the file, the place in it, what was found and what is allowed.
- Problems are collected and shown all at once, sorted by place; nothing stops at the first.
- ``InputError`` carries them through code that can't go on; only the command line prints them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One complaint. ``line`` and ``column`` count from 1; 0 where the file as a whole is meant.

    ``path`` is the way to the place in words, e.g. ``state 'limp' › next[0] › lasting``.
    ``hint`` is a suggestion, e.g. the nearest right name. ``code`` is stable, for programs.
    """

    file: str
    line: int
    column: int
    path: str
    expected: str
    found: str
    code: str
    level: Literal["error", "warning"] = "error"
    hint: str = ""

    @property
    def message(self) -> str:
        """The complaint without the place in the file: ``path: expected …, found … (hint)``."""
        words = f"expected {self.expected}"
        if self.found:
            words += f", found {self.found}"
        if self.path:
            words = f"{self.path}: {words}"
        return f"{words} ({self.hint})" if self.hint else words

    def __str__(self) -> str:
        """``file:line:column: message``, with ``warning:`` before the message of a warning."""
        level = "warning: " if self.level == "warning" else ""
        if self.line:
            return f"{self.file}:{self.line}:{self.column}: {level}{self.message}"
        return f"{self.file}: {level}{self.message}"


class InputError(Exception):
    """An input has problems. ``problems`` holds them all, sorted by place."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(sorted(problems))
        super().__init__("\n".join(str(problem) for problem in self.problems))
