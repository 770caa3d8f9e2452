"""The open screens of a session, each with the newest view that it has not been sent yet.

Rules of this file:

- A view is whole, so only the newest counts: a slow screen skips views. No screen waits for
  another.
- A view is made when the first screen is ready to take it, once for all of its kind: nothing is
  made for a stalled screen.
- A screen takes itself off when its stream ends.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Literal

ScreenKind = Literal["console", "bedside", "room", "wall", "play"]


class Screen:
    """One open stream. ``next_view`` gives the newest view once there is one, or ``None``.

    ``until_end``: whose right to it ends with the session.
    """

    def __init__(self, kind: ScreenKind, *, until_end: bool = False) -> None:
        self.kind = kind
        self.until_end = until_end
        self._view: Callable[[], bytes] | None = None
        self._news = asyncio.Event()
        self.closed = False
        self.over = False

    def show(self, view: Callable[[], bytes]) -> None:
        """Leave a view to be made and sent; one that was not yet sent gives way."""
        self._view = view
        self._news.set()

    def close(self) -> None:
        """End the stream."""
        self.closed = True
        self._news.set()

    async def next_view(self, within_s: float) -> bytes | None:
        """Wait for the next view; ``None`` if there was none in time or the stream has ended."""
        try:
            async with asyncio.timeout(within_s):
                await self._news.wait()
        except TimeoutError:
            return None
        self._news.clear()
        view, self._view = self._view, None
        return view() if view is not None else None


@dataclass(slots=True)
class Screens:
    """All screens of one session."""

    open: set[Screen]

    def show(self, kind: ScreenKind, view: Callable[[], bytes]) -> None:
        """Show a view to all of one kind."""
        once = cache(view)
        for screen in self.open:
            if screen.kind == kind:
                screen.show(once)

    def end(self) -> None:
        """End the streams of those whose right ends with the session, and tell them so."""
        for screen in self.open:
            if screen.until_end:
                screen.over = True
                screen.close()

    def close(self) -> None:
        """End all streams."""
        for screen in self.open:
            screen.close()
