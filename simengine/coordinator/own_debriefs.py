"""A person's own debriefs: of sessions that they took part in, and whether they share them.

Rules of this file:

- One of a session for learning is the learner's alone until the learner shares it, with educators
  and the coordinator; taken back, it opens for the learner alone again.
- Nobody shares it for them.
"""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.cohort.records import SessionResult
from simengine.coordinator.own_words_page import wrote_of
from simengine.coordinator.who_may_read import person_address, reader_of_debrief, the_trainee
from simengine.store import StoreError, shared_debriefs
from simengine.store.lists import sessions_of, took_part
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import form_of
from simengine.web.make_debriefs import NO_WHAT_IF, DebriefError, Made
from simengine.web.note_read import note_read
from simengine.web.pages import see
from simengine.web.refusal import RefusalError
from simengine.web.report_answers import report_page, report_pdf
from simengine.web.who_asks import known_visitor


async def as_page(request: Request) -> Response:
    """``GET /cohort/people/CODE/debrief/ID``, with ``?part=whole`` the whole."""
    made = (await _made(request)).part(request.query_params.get("part"))
    return report_page(made.html, back=_back(request), also=_over_time(request))


async def as_pdf(request: Request) -> Response:
    """``GET /cohort/people/CODE/debrief/ID.pdf``, with ``?part=whole`` the whole."""
    return report_pdf((await _made(request)).part(request.query_params.get("part")).pdf)


async def what_if(request: Request) -> Response:
    """``GET /cohort/people/CODE/debrief/ID/what-if?item=…``, of the person's own items."""
    code, session, result = _own(request)
    state, item = state_of(request), request.query_params.get("item", "")
    try:
        events = state.store.events(session)
        guide = {marked.id for marked in result.items}
        file = await state.debriefs.what_if(session, events, result.scenario, item, guide, code)
    except (DebriefError, StoreError) as error:
        raise RefusalError(500, NO_WHAT_IF, str(error)) from error
    return report_page(file, back=(f"{person_address(code)}/debrief/{session}", "Debrief"))


async def share(request: Request) -> Response:
    """``POST /cohort/people/CODE/debrief/ID``: ``do`` is ``share`` or ``take-back``."""
    code, session = request.path_params["code"], request.path_params["session"]
    visitor = the_trainee(request, code)
    form = await form_of(request, visitor)
    state = state_of(request)
    if not took_part(state.store, code, session):
        raise RefusalError(404, "No such debrief", "You did not take part in this session.")
    if form.get("do") == "share":
        shared_debriefs.share(state.store, code, session, wall(state.clock.wall_ms()))
    else:
        shared_debriefs.take_back(state.store, code, session)
    return see(f"{person_address(code)}#sessions-title")


def _back(request: Request) -> tuple[str, str]:
    """Return where a debrief leads: the person's page, or what the reader may open instead."""
    code = request.path_params["code"]
    visitor = known_visitor(request)
    if visitor is not None and visitor.teaches and not visitor.coordinator:
        return "/cohort/shared", "Shared debriefs"
    return person_address(code), "The person's page" if visitor and visitor.teaches else "My page"


def _over_time(request: Request) -> tuple[str, str] | None:
    """Return where learners see their own sessions side by side, once there are several."""
    code, visitor = request.path_params["code"], known_visitor(request)
    several = len(sessions_of(state_of(request).store, code, offset=0, limit=2)) > 1
    if visitor is None or visitor.teaches or not several:
        return None
    return f"{person_address(code)}#trend-title", "My sessions over time"


def _own(request: Request) -> tuple[str, str, SessionResult]:
    """Return whose debrief of which session it is, once that it is read has been written down."""
    code, session = request.path_params["code"], request.path_params["session"]
    state = state_of(request)
    result = state.store.result(session) if took_part(state.store, code, session) else None
    purpose = result.purpose if result is not None else ""
    visitor = reader_of_debrief(request, code, session, purpose)
    if result is None:
        raise RefusalError(404, "No such debrief", "This person did not take part in this session.")
    note_read(request, visitor, "personal debrief", [code])
    return code, session, result


async def _made(request: Request) -> Made:
    code, session, result = _own(request)
    state = state_of(request)
    try:
        events = state.store.events(session)
        wrote = wrote_of(state.store, session, code)
        return await state.debriefs.personal(session, events, result.scenario, code, wrote)
    except (DebriefError, StoreError) as error:
        raise RefusalError(500, "The debrief could not be made", str(error)) from error
