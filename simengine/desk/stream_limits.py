"""How many streams may be open, of one client and in all: past that the oldest gives way.

Rules of this file:

- A client is a browser (its signed cookie), or an address that sends none. One client's streams
  take the place of its own first.
- In all, a display's gives way before that of somebody who records, and the client with the most
  before others, so that nobody's displays keep a facilitator from seeing the session.
- A page whose stream ended opens another by itself.
"""

from __future__ import annotations

from collections import Counter

from simengine.desk.screens import Screen

MOST_OF_ONE = 12
MOST_IN_ALL = 150
_DISPLAYS = ("bedside", "wall")


class StreamLimits:
    """The open streams, oldest first, each with whose it is."""

    def __init__(self, most_of_one: int = MOST_OF_ONE, most_in_all: int = MOST_IN_ALL) -> None:
        self._most_of_one = most_of_one
        self._most_in_all = most_in_all
        self._open: dict[Screen, str] = {}

    def admit(self, screen: Screen, client: str) -> None:
        """Take a stream in; another may be ended for it."""
        mine = [other for other, whose in self._open.items() if whose == client]
        if len(mine) >= self._most_of_one:
            self._end(mine[0])
        if len(self._open) >= self._most_in_all:
            self._end(self._first_to_go())
        self._open[screen] = client

    def leave(self, screen: Screen) -> None:
        """Forget a stream that has ended."""
        self._open.pop(screen, None)

    def _first_to_go(self) -> Screen:
        held = Counter(self._open.values())
        return min(
            self._open,
            key=lambda other: (other.kind not in _DISPLAYS, -held[self._open[other]]),
        )

    def _end(self, screen: Screen) -> None:
        self.leave(screen)
        screen.close()
