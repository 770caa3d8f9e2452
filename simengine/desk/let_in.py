"""Who is let into the desk's pages and into the session that an address names."""

from __future__ import annotations

from starlette.requests import Request

from simengine.desk.desk_state import desk_of
from simengine.desk.event_stream import EventStream
from simengine.desk.hub import NoSessionError
from simengine.desk.running import Running
from simengine.desk.screens import Screen
from simengine.desk.session_plan import SessionPlan
from simengine.web.app_state import state_of
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor
from simengine.web.who_asks import client_of, how_to_come_in, known_visitor


def facilitator(request: Request) -> Visitor:
    """Return the facilitator who is asking. Raises ``RefusalError`` for anybody else."""
    visitor = known_visitor(request)
    if visitor is None or not visitor.facilitator:
        raise _not_signed_in(request)
    return visitor


def recorder(request: Request) -> tuple[Visitor, Running]:
    """Return who is asking and the session of the address, if they may record in it."""
    visitor = known_visitor(request)
    session = request.path_params["session"]
    if visitor is None or not visitor.is_let_into(session):
        raise _not_signed_in(request)
    return visitor, running_of(request)


def refuse_alone(plan: SessionPlan) -> None:
    """Refuse a session that is played alone, which no page of the desk opens.

    Raises ``RefusalError``.
    """
    if plan.alone:
        raise RefusalError(404, "For who played it", "A rehearsal opens for its player alone.")


def running_of(request: Request) -> Running:
    """Return the session that the address names. Raises ``RefusalError``."""
    hub, session = desk_of(request).hub, request.path_params["session"]
    try:
        refuse_alone(hub.plan_of(session))
        return hub.running(session)
    except NoSessionError as error:
        raise RefusalError(404, "This session can't be opened", str(error)) from error


def display_address(request: Request, running: Running) -> str:
    """Return the address of a session's bedside display, for people to type."""
    return f"{state_of(request).address}/d/{running.plan.display}"


def picture_address(request: Request, running: Running) -> str:
    """Return what a QR code of a display opens: over a network the page with the fingerprint."""
    if state_of(request).lan is not None:
        return f"{state_of(request).address}/join?code={running.plan.display}"
    return display_address(request, running)


def stream_of(request: Request, running: Running, screen: Screen) -> EventStream:
    """Return the stream of a screen, within the limits of its client."""
    state = state_of(request)
    desk_of(request).stream_limits.admit(screen, client_of(request))

    def let_go(gone: Screen) -> None:
        desk_of(request).stream_limits.leave(gone)
        running.leave(gone)

    return EventStream(screen, state.clock.now_ms, let_go)


def _not_signed_in(request: Request) -> RefusalError:
    how = how_to_come_in(request)
    return RefusalError(403, "Not signed in", "This page is for the facilitator.", *how)
