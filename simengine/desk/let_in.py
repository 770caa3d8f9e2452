"""Who is let into the desk's pages and into the session that an address names."""

from __future__ import annotations

from starlette.requests import Request

from simengine.desk.desk_state import desk_of
from simengine.desk.event_stream import EventStream
from simengine.desk.hub import NoSessionError
from simengine.desk.running import Running
from simengine.desk.screens import Screen
from simengine.web.app_state import state_of
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor
from simengine.web.who_asks import WAY_BACK, client_of, known_visitor

NOT_SIGNED_IN = (
    "This page is for the facilitator. Open the console with the link that it printed when it "
    "was started, in this browser.",
    WAY_BACK,
)


def facilitator(request: Request) -> Visitor:
    """Return the facilitator who is asking. Raises ``RefusalError`` for anybody else."""
    visitor = known_visitor(request)
    if visitor is None or not visitor.facilitator:
        raise RefusalError(403, "Not signed in", *NOT_SIGNED_IN)
    return visitor


def recorder(request: Request) -> tuple[Visitor, Running]:
    """Return who is asking and the session of the address, if they may record in it."""
    visitor = known_visitor(request)
    session = request.path_params["session"]
    if visitor is None or not visitor.is_let_into(session):
        raise RefusalError(403, "Not signed in", *NOT_SIGNED_IN)
    return visitor, running_of(request)


def running_of(request: Request) -> Running:
    """Return the session that the address names. Raises ``RefusalError``."""
    try:
        return desk_of(request).hub.running(request.path_params["session"])
    except NoSessionError as error:
        raise RefusalError(404, "This session can't be opened", str(error)) from error


def stream_of(request: Request, running: Running, screen: Screen) -> EventStream:
    """Return the stream of a screen, within the limits of its client."""
    state = state_of(request)
    desk_of(request).stream_limits.admit(screen, client_of(request))

    def let_go(gone: Screen) -> None:
        desk_of(request).stream_limits.leave(gone)
        running.leave(gone)

    return EventStream(screen, state.clock.now_ms, let_go)
