"""A person's own debriefs: of sessions that they took part in, made for them alone."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.console.cohort.doors import reader_of
from simengine.console.debriefs import DebriefError, Made
from simengine.console.front import RefusalError, front_of
from simengine.console.report_answers import report_page, report_pdf
from simengine.console.who_read import note_read
from simengine.store import StoreError
from simengine.store.lists import took_part


async def as_page(request: Request) -> Response:
    """``GET /cohort/people/CODE/debrief/ID``."""
    return report_page((await _made(request)).html)


async def as_pdf(request: Request) -> Response:
    """``GET /cohort/people/CODE/debrief/ID.pdf``."""
    return report_pdf((await _made(request)).pdf)


async def _made(request: Request) -> Made:
    code, session = request.path_params["code"], request.path_params["session"]
    visitor = reader_of(request, code)
    front = front_of(request)
    result = front.store.result(session) if took_part(front.store, code, session) else None
    if result is None:
        raise RefusalError(404, "No such debrief", "This person took part in no such session.")
    note_read(request, visitor, "personal debrief", [code])
    try:
        events = front.store.events(session)
        return await front.debriefs.personal(session, events, result.scenario, code)
    except (DebriefError, StoreError) as error:
        raise RefusalError(500, "The debrief could not be made", str(error)) from error
