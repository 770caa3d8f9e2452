"""Connections: who says nothing never keeps others from being heard.

Rules of this file:

- A connection waits while it has brought no whole request: it was only opened, its request dribbles
  in, or it stays open after an answer. Only waiting ones are counted, and past ``MOST_WAITING`` the
  one that has waited longest gives way to the newest. A browser connects again by itself.
- A request that has begun is whole within ``WHOLE_WITHIN_S``, or its connection is dropped.
- Streams are no waiting connections; they have limits of their own (``stream_limits``).
"""

from __future__ import annotations

import asyncio
from typing import cast

from uvicorn.protocols.http.h11_impl import H11Protocol, RequestResponseCycle

MOST_WAITING = 300
WHOLE_WITHIN_S = 30.0


class Connection(H11Protocol):
    """One connection, as uvicorn serves it, within these limits."""

    most_waiting = MOST_WAITING
    whole_within_s = WHOLE_WITHIN_S

    _waits_since = 0.0
    _deadline: asyncio.TimerHandle | None = None

    @property
    def waits(self) -> bool:
        """Whether it has brought no whole request that is being answered."""
        cycle = cast("RequestResponseCycle | None", self.cycle)
        return cycle is None or cycle.response_complete or cycle.more_body

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take a connection in, and let the one that has waited longest go if there are many."""
        super().connection_made(transport)
        self._waits_since = self.loop.time()
        self._begin_deadline()
        waiting = [
            connection
            for connection in cast("set[Connection]", self.connections)
            if connection.waits
        ]
        if len(waiting) > self.most_waiting:
            min(waiting, key=lambda connection: connection._waits_since).drop()

    def data_received(self, data: bytes) -> None:
        """Take in a part of a request."""
        if self._deadline is None and self.waits:
            self._begin_deadline()
        super().data_received(data)
        if not self.waits:
            self._end_deadline()

    def on_response_complete(self) -> None:
        """Wait for the next request."""
        self._end_deadline()
        self._waits_since = self.loop.time()
        super().on_response_complete()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the connection."""
        self._end_deadline()
        super().connection_lost(exc)

    def drop(self) -> None:
        """End the connection at once."""
        self._end_deadline()
        self.transport.abort()

    def _begin_deadline(self) -> None:
        self._end_deadline()
        self._deadline = self.loop.call_later(self.whole_within_s, self._too_late)

    def _end_deadline(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None

    def _too_late(self) -> None:
        self._deadline = None
        if self.waits:
            self.drop()
