"""Measure what a hand waits for: the first page, a touch over TLS, the review after a correction.

Each stands beside a reference in the same run. Run as ``python -m benchmarks.in_the_hand``.

- First page after a start, with 14 and with 200 scenarios: from starting the process until the page
  stands with every scenario on it, with no index of the files yet, and with the index of the start
  before. The reference is a bare Starlette application that answers one page, started alike.
- A touch to durable and to shown on a display, over TLS with a certificate of its own, beside the
  same console without TLS.
- The review after a correction: one correction posted and the review read again, beside marking the
  same log once in this process.
"""

from __future__ import annotations

SHIPPED, MANY = 14, 200
STARTS = 5
TOUCHES = 100
CORRECTIONS = 20
_BARE = """
import sys, uvicorn
from starlette.applications import Starlette
from starlette.responses import PlainTextResponse
from starlette.routing import Route
app = Starlette(routes=[Route("/", lambda request: PlainTextResponse("page"))])
class Told(uvicorn.Server):
    async def startup(self, sockets=None):
        await super().startup(sockets)
        print(self.servers[0].sockets[0].getsockname()[1], flush=True)
Told(uvicorn.Config(app, port=0, log_level="error")).run()
"""
