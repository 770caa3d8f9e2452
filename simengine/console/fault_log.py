"""What the console notes of its own faults: where in the program they were, and nobody's name.

Rules of this file:

- Of an exception its kind is noted and the lines of the program that it passed, and never its own
  words: a database tells in them what it was given, which may be a name.
- What we note in words ourselves holds ids of sessions and what a store says of itself.
"""

from __future__ import annotations

import logging
import traceback
from types import TracebackType

FORM = "%(asctime)s %(levelname)s %(name)s: %(message)s"

_Raised = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]


class NamelessFormatter(logging.Formatter):
    """Formats a record for the file of faults."""

    def __init__(self) -> None:
        super().__init__(FORM)

    def formatException(self, ei: _Raised) -> str:  # noqa: N802 - logging's own name
        """Return kinds and lines of an exception and of those that led to it, the first first."""
        parts: list[str] = []
        error = ei[1]
        seen: set[int] = set()
        while error is not None and id(error) not in seen:
            seen.add(id(error))
            lines = "".join(traceback.format_tb(error.__traceback__))
            parts.append(f"{lines}{type(error).__module__}.{type(error).__qualname__}")
            error = error.__cause__ or (None if error.__suppress_context__ else error.__context__)
        return "\n-- which led to --\n".join(reversed(parts))
