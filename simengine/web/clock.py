"""The server's clock: the one place of the console that asks for the time.

Rules of this file:

- Whatever is measured (a session's time, how long a cookie or a code holds, how often somebody
  guessed) is measured on a steady clock, which starts from the wall clock with the server: setting
  the machine's clock while the server runs, in either direction, moves nothing.
- The steady clock counts while the machine sleeps, where the system has such a clock.
- Dates for people come from the wall clock as it stands, so that a clock put right is right.
- After a restart it starts from the wall clock again, so that a running session's clock has not
  stopped; a wall clock set back meanwhile is told by the log, which is ahead of it.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime

_NS_PER_MS = 1_000_000


def _wall_ns() -> int:
    return time.time_ns()


def _steady_ns() -> int:
    boot = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic_ns() if boot is None else time.clock_gettime_ns(boot)


class Clock:
    """Milliseconds since 1970. ``wall_ns`` and ``steady_ns``: the machine's two clocks."""

    def __init__(
        self, wall_ns: Callable[[], int] = _wall_ns, steady_ns: Callable[[], int] = _steady_ns
    ) -> None:
        self._wall_ns = wall_ns
        self._steady_ns = steady_ns
        self._ahead_ns = wall_ns() - steady_ns()

    def now_ms(self) -> int:
        """Return the steady time now, which never falls and never jumps."""
        return (self._ahead_ns + self._steady_ns()) // _NS_PER_MS

    def wall_ms(self) -> int:
        """Return what the wall clock reads now, for a date that people read."""
        return self.wall_of(self.now_ms())

    def wall_of(self, now_ms: int) -> int:
        """Return what the wall clock, as it is set now, reads at an instant of the steady time."""
        set_on_ns = self._wall_ns() - self._steady_ns() - self._ahead_ns
        return now_ms + round(set_on_ns / _NS_PER_MS)


def wall(at_ms: int) -> str:
    """Return an instant for people and for the log: UTC, ISO 8601, to the millisecond."""
    at = datetime.fromtimestamp(at_ms / 1000, UTC)
    return at.strftime("%Y-%m-%dT%H:%M:%S.") + f"{at_ms % 1000:03d}Z"


def from_wall(text: str) -> int:
    """Return the instant that ``wall`` wrote, in ms since 1970."""
    at = datetime.fromisoformat(text)
    return int(at.timestamp()) * 1000 + at.microsecond // 1000
