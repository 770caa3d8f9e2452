"""Server-sent events, written by hand, over one ASGI connection.

Rules of this file:

- Somebody who only sends never learns that the client has gone, so ``receive`` is watched all
  the while, and the screen is let go as soon as it says so.
- A client that takes nothing for ``STALLED_S`` is dropped; its page connects again by itself.
- A beat every few seconds tells a page that the silence is not a broken line.
- A client that has gone without a word (a tablet asleep, a cable out) takes what is sent for a long
  while. So a page is asked to open a new stream after ``RENEW_MS``, which it does before it lets go
  of the old one, and a stream ends after ``LONGEST_MS`` in any case.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable

from starlette.types import Message, Receive, Scope, Send

from simengine.desk.screens import Screen

_LOG = logging.getLogger("simengine.console")
BEAT_S = 5.0
OVER = b"event: over\ndata: {}\n\n"
"""Tells a page that it is shown nothing more here: it loads itself again and is told why."""
STALLED_S = 15.0
RENEW_MS = 35_000
LONGEST_MS = 50_000
RENEW = b"event: renew\ndata: {}\n\n"


class EventStream:
    """An ASGI response that sends a screen's views until either side ends it.

    ``now_ms``: the server's clock. ``let_go``: called once, however the stream ends. ``beat_s``:
    how long it waits for a view before a beat.
    """

    def __init__(
        self,
        screen: Screen,
        now_ms: Callable[[], int],
        let_go: Callable[[Screen], None],
        *,
        beat_s: float = BEAT_S,
    ) -> None:
        self._beat_s = beat_s
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
        begun_ms, renewing = self._now_ms(), False
        while not self._screen.closed:
            open_ms = self._now_ms() - begun_ms
            if open_ms >= LONGEST_MS:
                break
            if open_ms >= RENEW_MS and not renewing:
                renewing = True
                await _in_time(send, _part(RENEW))
            view = await self._screen.next_view(self._beat_s)
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
