"""The server's clock: the one place of the console that asks for the time.

Rules of this file:

- It starts from the wall clock and goes on steadily: setting the machine's clock while the
  server runs moves no session.
- After a restart it starts from the wall clock again, so that a running session's clock has not
  stopped.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime


class Clock:
    """Milliseconds since 1970, never falling."""

    def __init__(self) -> None:
        self._start_ms = time.time_ns() // 1_000_000
        self._steady = time.monotonic_ns()

    def now_ms(self) -> int:
        """Return the time now."""
        return self._start_ms + (time.monotonic_ns() - self._steady) // 1_000_000


def wall(at_ms: int) -> str:
    """Return an instant for people and for the log: UTC, ISO 8601, to the millisecond."""
    at = datetime.fromtimestamp(at_ms / 1000, UTC)
    return at.strftime("%Y-%m-%dT%H:%M:%S.") + f"{at_ms % 1000:03d}Z"


def from_wall(text: str) -> int:
    """Return the instant that ``wall`` wrote, in ms since 1970."""
    at = datetime.fromisoformat(text)
    return int(at.timestamp()) * 1000 + at.microsecond // 1000
