"""A person's own debriefs: of sessions that they took part in, made for them alone."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.doors import reader_of
from simengine.store import StoreError
from simengine.store.lists import took_part
from simengine.web.app_state import state_of
from simengine.web.debriefs import DebriefError, Made
from simengine.web.refusal import RefusalError
from simengine.web.report_answers import report_page, report_pdf
from simengine.web.who_read import note_read


async def as_page(request: Request) -> Response:
    """``GET /cohort/people/CODE/debrief/ID``, with ``?part=whole`` the whole."""
    return report_page((await _made(request)).part(request.query_params.get("part")).html)


async def as_pdf(request: Request) -> Response:
    """``GET /cohort/people/CODE/debrief/ID.pdf``, with ``?part=whole`` the whole."""
    return report_pdf((await _made(request)).part(request.query_params.get("part")).pdf)


async def _made(request: Request) -> Made:
    code, session = request.path_params["code"], request.path_params["session"]
    visitor = reader_of(request, code)
    state = state_of(request)
    result = state.store.result(session) if took_part(state.store, code, session) else None
    if result is None:
        raise RefusalError(404, "No such debrief", "This person took part in no such session.")
    note_read(request, visitor, "personal debrief", [code])
    try:
        events = state.store.events(session)
        return await state.debriefs.personal(session, events, result.scenario, code)
    except (DebriefError, StoreError) as error:
        raise RefusalError(500, "The debrief could not be made", str(error)) from error
