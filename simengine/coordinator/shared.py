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
    found = all_shared(state_of(request).store, offset=(number - 1) * ROWS, limit=ROWS + 1)
    data = SharedPage(
        here=PATH,
        readers=EDUCATORS_TOO,
        rows=tuple(
            SharedRow(
                since=local_day(one.wall),
                code=one.code,
                held=local_day(one.held),
                address=f"{person_address(one.code)}/debrief/{one.session}",
            )
            for one in found[:ROWS]
        ),
        pages=pages_onward(PATH, {}, number, len(found)),
    )
    return page(request, "cohort/shared.html.j2", data)
