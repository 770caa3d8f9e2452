"""The access log: who read whose record."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.contexts import AccessPage, Choice
from simengine.coordinator.read_log_rows import read_row
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, coordinator
from simengine.store.lists import readings
from simengine.web.app_state import state_of
from simengine.web.pages import page
from simengine.web.paging import ROWS, page_number, pages_onward

PATH = "/cohort/access"
_ROLES = ("coordinator", "educator", "trainee")


async def access(request: Request) -> Response:
    """``GET /cohort/access``."""
    coordinator(request)
    query = request.query_params
    role = query.get("role", "") if query.get("role") in _ROLES else ""
    whom = query.get("whom", "").strip()[:40]
    number = page_number(request)
    reads = readings(
        state_of(request).store,
        whom=whom or None,
        role=role or None,
        offset=(number - 1) * ROWS,
        limit=ROWS + 1,
    )
    options = (("", "everybody"), *((name, name) for name in _ROLES))
    data = AccessPage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        filters=(Choice("role", "Who read", options, role),),
        whom=whom,
        rows=tuple(read_row(reading) for reading in reads[:ROWS]),
        pages=pages_onward(PATH, {"role": role, "whom": whom}, number, len(reads)),
    )
    return page(request, "cohort/access.html.j2", data)
