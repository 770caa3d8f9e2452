"""Who is asking: the visitor by the cookie, the client whose tries are counted, the way home."""

from __future__ import annotations

from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from simengine.web.app_state import state_of
from simengine.web.security import COOKIE, COOKIE_AGE_S, Visitor

WAY_BACK = (
    "The link works once. If that browser is lost, whoever started the console presses Enter in "
    "the window in which it runs: it prints a new link. Running sessions carry on."
)


def known_visitor(request: Request) -> Visitor | None:
    """Return who is asking, if the cookie tells."""
    state = state_of(request)
    return state.keys.visitor(request.cookies.get(COOKIE), state.clock.now_ms())


def home_of(visitor: Visitor, now_ms: int) -> str:
    """Return the address of the page that a visitor begins with; empty where they have none."""
    if visitor.facilitator:
        return "/"
    if visitor.coordinator:
        return "/cohort"
    trainee = visitor.is_trainee(now_ms)
    return f"/cohort/people/{quote(trainee, safe='')}" if trainee else ""


def client_of(request: Request) -> str:
    """Return which client asks: a browser by its cookie, else the address that sent none."""
    visitor = known_visitor(request)
    if visitor is not None:
        return visitor.id
    return request.client.host if request.client is not None else "unknown"


def set_cookie(request: Request, response: Response, visitor: Visitor) -> None:
    """Send the visitor's cookie along."""
    state = state_of(request)
    response.set_cookie(
        COOKIE,
        state.keys.cookie(visitor, state.clock.now_ms()),
        max_age=COOKIE_AGE_S,
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https",
    )
