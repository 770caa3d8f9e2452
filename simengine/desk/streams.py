"""Let a handler answer with an event stream, which is no Starlette response."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from simengine.desk.event_stream import EventStream


class _Streaming:
    def __init__(self, handler: Callable[[Request], Awaitable[EventStream | Response]]) -> None:
        self._handler = handler

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        stream = await self._handler(Request(scope, receive))
        await stream(scope, receive, send)


def streaming(handler: Callable[[Request], Awaitable[EventStream | Response]]) -> ASGIApp:
    """Return the ASGI app of a handler that opens a stream."""
    return _Streaming(handler)
