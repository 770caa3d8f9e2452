"""Coming in: the one-time link, codes of displays and recorders, the bedside display."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.desk.desk_state import desk_of
from simengine.desk.event_stream import EventStream
from simengine.desk.let_in import stream_of
from simengine.desk.running import Running
from simengine.desk.view import BedsidePage, JoinPage
from simengine.practice_check.pages import opens as practice_check
from simengine.web.app_state import state_of
from simengine.web.forms import form_of
from simengine.web.pages import page, see
from simengine.web.refusal import RefusalError
from simengine.web.security import (
    OneTimeLink,
    Visitor,
    as_code,
    as_trainee,
    new_visitor,
    raised,
)
from simengine.web.who_asks import WAY_BACK, client_of, home_of, known_visitor, set_cookie

_TOO_MANY = "Too many wrong codes from here. Wait a minute, then try again."


async def enter(request: Request) -> Response:
    """``GET /enter/TOKEN``: the one-time link that opens the console."""
    visitor = known_visitor(request)
    if visitor is not None and visitor.facilitator:
        return see("/")
    raised_to = raised(visitor or new_visitor(), facilitator=True)
    return _opened(request, state_of(request).link, "/", raised_to)


async def coordinate(request: Request) -> Response:
    """``GET /coordinate/TOKEN``: the one-time link that opens the coordinator's pages."""
    visitor = known_visitor(request)
    if visitor is not None and visitor.coordinator:
        return see("/cohort")
    raised_to = raised(visitor or new_visitor(), coordinator=True)
    return _opened(request, state_of(request).coordinating, "/cohort", raised_to)


def _opened(request: Request, link: OneTimeLink, way: str, visitor: Visitor) -> Response:
    state = state_of(request)
    now_ms = state.clock.now_ms()
    client = client_of(request)
    # The right link opens whatever came before: it is too long to be guessed, and a display left
    # open with an old code must not lock the facilitator out by asking again and again.
    if not link.spend(request.path_params["token"]):
        if state.guesses.too_many(client, now_ms):
            raise RefusalError(429, "Wait a little", _TOO_MANY)
        state.guesses.wrong(client, now_ms)
        raise RefusalError(
            403,
            "This link has been used",
            "A link opens the console once. Go on in the browser in which it was opened.",
            WAY_BACK,
        )
    response = see(way)
    set_cookie(request, response, visitor)
    return response


async def join_page(request: Request) -> Response:
    """``GET /join``."""
    return page(
        request, "join.html.j2", JoinPage("", as_code(request.query_params.get("code", "")))
    )


async def join(request: Request) -> Response:
    """``POST /join``."""
    visitor = known_visitor(request)
    form = await form_of(request, visitor)
    assert visitor is not None
    code = as_code(form.get("code", ""))
    if way := practice_check(request, code):
        return see(way)  # its code opens the list alone, whatever was chosen
    if form.get("who") == "trainee":
        return _as_trainee(request, visitor, code)
    opened = _opened_by_ticket(request, visitor, code)
    if opened is not None:
        return opened  # a trainee's code opens the trainee's pages, whatever was chosen
    if form.get("who") == "observer":
        opened_by = found_by_code(request, desk_of(request).hub.by_recorder(code))
        if isinstance(opened_by, Running):
            response = see(f"/s/{opened_by.plan.session}")
            set_cookie(request, response, raised(visitor, session=opened_by.plan.session))
            return response
    else:
        desk = desk_of(request)
        opened_by = found_by_code(request, desk.hub.by_display(code) or desk.by_wall(code))
        if isinstance(opened_by, Running):
            return see(f"/{'d' if opened_by.plan.display == code else 'wall'}/{code}")
    return page(request, "join.html.j2", JoinPage(opened_by, code), status=422)


def _opened_by_ticket(request: Request, visitor: Visitor, code: str) -> Response | None:
    """Open one trainee's own pages, where the code is one for them and the browser may."""
    state = state_of(request)
    now_ms = state.clock.now_ms()
    if visitor.teaches or state.guesses.too_many(client_of(request), now_ms):
        return None
    trainee = state.tickets.spend(code, now_ms)
    if trainee is None:
        return None
    opened = as_trainee(visitor, trainee, now_ms)
    response = see(home_of(opened, now_ms))
    set_cookie(request, response, opened)
    return response


def _as_trainee(request: Request, visitor: Visitor, code: str) -> Response:
    """Open one trainee's own pages, or say why not."""
    state = state_of(request)
    now_ms = state.clock.now_ms()
    if visitor.teaches:
        problem = (
            "This browser is an educator's or coordinator's. Open a trainee's own pages in "
            "another browser, or in a private window."
        )
    elif state.guesses.too_many(client_of(request), now_ms):
        problem = _TOO_MANY
    else:
        opened = _opened_by_ticket(request, visitor, code)
        if opened is not None:
            return opened
        state.guesses.wrong(client_of(request), now_ms)
        problem = "This code opens nothing. It works once and for a few minutes; ask for a new one."
    return page(request, "join.html.j2", JoinPage(problem, code), status=422)


async def leave(request: Request) -> Response:
    """``POST /leave``: a trainee's browser forgets whose it was."""
    visitor = known_visitor(request)
    await form_of(request, visitor)
    assert visitor is not None
    response = see("/join")
    if visitor.trainee:
        set_cookie(request, response, as_trainee(visitor, "", 0))
    return response


async def bedside(request: Request) -> Response:
    """``GET /d/CODE``: the bedside display."""
    running = _display(request)
    code = running.plan.display
    data = BedsidePage(running.view("bedside").decode(), f"/d/{code}/stream")
    return page(request, "bedside.html.j2", data)


async def bedside_stream(request: Request) -> EventStream:
    """``GET /d/CODE/stream``."""
    running = _display(request)
    return stream_of(request, running, running.join("bedside"))


def _display(request: Request) -> Running:
    return shown_by_code(
        request, desk_of(request).hub.by_display(as_code(request.path_params["code"]))
    )


def shown_by_code(request: Request, running: Running | None) -> Running:
    """Return the session that a screen's code opens. Raises ``RefusalError`` for any other."""
    shown = found_by_code(request, running)
    if isinstance(shown, str):
        raise RefusalError(429 if shown == _TOO_MANY else 404, "No display here", shown)
    return shown


def found_by_code(request: Request, running: Running | None) -> Running | str:
    """The session that a code opens; else what to tell, with the guess counted."""
    state = state_of(request)
    now_ms = state.clock.now_ms()
    client = client_of(request)
    # Whoever sends no cookie shares an address with others, whose guesses are no reason to refuse a
    # right code; it is too long to be guessed.
    shared = known_visitor(request) is None
    if state.guesses.too_many(client, now_ms) and not (shared and running is not None):
        return _TOO_MANY
    if running is None:
        state.guesses.wrong(client, now_ms)
        return "No session has this code. A code ends with its session; check what you typed."
    return running
