"""Everything that is kept of one person, as a file for that person."""

from __future__ import annotations

import asyncio
import re

import orjson
from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.who_may_read import reader_of
from simengine.exchange.person import person_as_json
from simengine.problems import InputError
from simengine.web.app_state import state_of
from simengine.web.note_read import note_read
from simengine.web.refusal import RefusalError


async def data(request: Request) -> Response:
    """``GET /cohort/people/CODE/data``."""
    code = request.path_params["code"]
    visitor = reader_of(request, code)
    note_read(request, visitor, "file of one person's data", [code])
    state = state_of(request)
    own = visitor.is_trainee(state.clock.now_ms()) == code
    try:
        own_data = await asyncio.to_thread(person_as_json, state.store, code, own)
    except InputError as error:
        raise RefusalError(404, "Nobody", "Nothing is kept under this code.") from error
    name = re.sub(r"[^A-Za-z0-9_-]+", "-", code)
    return Response(
        orjson.dumps(own_data, option=orjson.OPT_INDENT_2),
        media_type="application/json",
        headers={"content-disposition": f'attachment; filename="{name}.json"'},
    )
