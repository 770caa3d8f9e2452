"""Server-sent events, written by hand, over one ASGI connection.

Rules of this file:

- Somebody who only sends never learns that the client has gone, so ``receive`` is watched all
  the while, and the screen is let go as soon as it says so.
- A client that takes nothing for ``STALLED_S`` is dropped; its page connects again by itself.
- A beat every few seconds tells a page that the silence is not a broken line.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable

from starlette.types import Message, Receive, Scope, Send

from simengine.console.screens import Screen

_LOG = logging.getLogger("simengine.console")
BEAT_S = 5.0
OVER = b"event: over\ndata: {}\n\n"
"""Tells a page that it is shown nothing more here: it loads itself again and is told why."""
STALLED_S = 15.0


class EventStream:
    """An ASGI response that sends a screen's views until either side ends it.

    ``now_ms``: for the beat. ``let_go``: called once, however the stream ends.
    """

    def __init__(
        self, screen: Screen, now_ms: Callable[[], int], let_go: Callable[[Screen], None]
    ) -> None:
        self._screen = screen
        self._now_ms = now_ms
        self._let_go = let_go

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Run the stream."""
        sending = asyncio.create_task(self._send_all(send))
        leaving = asyncio.create_task(_left(receive))
        try:
            await asyncio.wait((sending, leaving), return_when=asyncio.FIRST_COMPLETED)
        finally:
            self._let_go(self._screen)
            for task in (sending, leaving):
                task.cancel()
            outcomes = await asyncio.gather(sending, leaving, return_exceptions=True)
            for outcome in outcomes:
                if isinstance(outcome, Exception) and not isinstance(outcome, OSError):
                    _LOG.error("a stream broke off", exc_info=outcome)

    async def _send_all(self, send: Send) -> None:
        start: Message = {
            "type": "http.response.start",
            "status": 200,
            "headers": [
                (b"content-type", b"text/event-stream; charset=utf-8"),
                (b"cache-control", b"no-store"),
                (b"x-accel-buffering", b"no"),
            ],
        }
        await _in_time(send, start)
        await _in_time(send, _part(b"retry: 1000\n\n"))
        while not self._screen.closed:
            view = await self._screen.next_view(BEAT_S)
            if view is not None:
                await _in_time(send, _part(b"event: view\ndata: " + view + b"\n\n"))
            elif not self._screen.closed:
                beat = b'event: beat\ndata: {"now_ms":%d}\n\n' % self._now_ms()
                await _in_time(send, _part(beat))
        if self._screen.over:
            await _in_time(send, _part(OVER))
        await _in_time(send, {"type": "http.response.body", "body": b"", "more_body": False})


def _part(body: bytes) -> Message:
    return {"type": "http.response.body", "body": body, "more_body": True}


async def _in_time(send: Send, message: Message) -> None:
    async with asyncio.timeout(STALLED_S):
        await send(message)


async def _left(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass
