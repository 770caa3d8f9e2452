"""The personal debriefs that learners share with educators and the coordinator."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.contexts import SharedPage, SharedRow
from simengine.coordinator.who_may_read import EDUCATORS_TOO, person_address, teacher
from simengine.store.shared_debriefs import all_shared
from simengine.web.app_state import state_of
from simengine.web.local_time import local_day
from simengine.web.pages import page
from simengine.web.paging import ROWS, page_number, pages_onward

PATH = "/cohort/shared"


async def shared(request: Request) -> Response:
    """``GET /cohort/shared``."""
    teacher(request)
    number = page_number(request)
    debriefs = all_shared(state_of(request).store, offset=(number - 1) * ROWS, limit=ROWS + 1)
    data = SharedPage(
        here=PATH,
        readers=EDUCATORS_TOO,
        rows=tuple(
            SharedRow(
                since=local_day(debrief.wall),
                code=debrief.code,
                held=local_day(debrief.held),
                address=f"{person_address(debrief.code)}/debrief/{debrief.session}",
            )
            for debrief in debriefs[:ROWS]
        ),
        pages=pages_onward(PATH, {}, number, len(debriefs)),
    )
    return page(request, "cohort/shared.html.j2", data)
