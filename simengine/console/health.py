"""The health page: whether the server runs and its store can be read."""

from __future__ import annotations

from contextlib import suppress

from sqlalchemy import select
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from simengine.store import StoreError
from simengine.web.app_state import state_of


async def health(request: Request) -> Response:
    """Tell whoever watches over the server, and nobody's name: 200, or 503 without the store."""
    with suppress(StoreError), state_of(request).store.reading() as connection:
        connection.execute(select(1))
        return PlainTextResponse("The console runs, and its store can be read.\n")
    return PlainTextResponse("The console runs, but its store can't be read.\n", 503)
