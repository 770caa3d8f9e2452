"""A server that sleeps while nobody asks anything of it.

Rules of this file:

- It wakes for what comes over its connections, for what it has to do at some time, when it is told
  to stop, and once a second for the date in its answers. uvicorn's own looks ten times a second
  whether it was told to stop, all day long.
"""

from __future__ import annotations

import asyncio
from contextlib import suppress
from types import FrameType

import uvicorn

_DATE_ANEW_S = 1.0


class SleepingServer(uvicorn.Server):
    """uvicorn's server, woken by the signal that tells it to stop."""

    def __init__(self, config: uvicorn.Config) -> None:
        super().__init__(config)
        self._loop: asyncio.AbstractEventLoop | None = None
        self._told_to_stop = asyncio.Event()

    async def main_loop(self) -> None:
        """Serve until told to stop."""
        self._loop = asyncio.get_running_loop()
        while not await self.on_tick(0):  # 0: make the date anew
            with suppress(TimeoutError):
                async with asyncio.timeout(_DATE_ANEW_S):
                    await self._told_to_stop.wait()

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Take a signal, which by itself wakes no loop."""
        super().handle_exit(sig, frame)
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self._told_to_stop.set)
