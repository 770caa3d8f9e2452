"""Who is asking: the visitor by the cookie, the client whose tries are counted, the way home."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from simengine.store.accounts import Account, signed_in
from simengine.web.app_state import state_of
from simengine.web.security import COOKIE_AGE_S, Visitor

WAY_BACK = (
    "The link works once. If that browser is lost, whoever started the console presses Enter in "
    "the window in which it runs: it prints a new link. Running sessions carry on."
)

_KEPT = "simengine.visitor"
_REQUEST_MS = 60_000
"""Longer than any request takes: what an account opens is looked at anew for each."""


def known_visitor(request: Request) -> Visitor | None:
    """Return who is asking, if the cookie tells; once for each request."""
    if _KEPT not in request.scope:
        request.scope[_KEPT] = _visitor(request)
    kept: Visitor | None = request.scope[_KEPT]
    return kept


def _visitor(request: Request) -> Visitor | None:
    state = state_of(request)
    now_ms = state.clock.now_ms()
    visitor = state.keys.visitor(request.cookies.get(state.keys.cookie_name), now_ms)
    if visitor is None or state.lan is None:
        return visitor
    visitor = replace(visitor, facilitator=False, coordinator=False)
    account = signed_in(state.store, visitor.sign_in, now_ms) if visitor.sign_in else None
    return visitor if account is None else as_account(visitor, account, now_ms)


def as_account(visitor: Visitor, account: Account, now_ms: int) -> Visitor:
    """Return a visitor with what an account opens."""
    return replace(
        visitor,
        person=account.id,
        facilitator=account.rights.educator,
        coordinator=account.rights.coordinator,
        trainee=account.rights.trainee,
        until_ms=now_ms + _REQUEST_MS if account.rights.trainee else 0,
        name=account.name,
    )


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
    return visitor.id if visitor is not None else address_of(request)


def address_of(request: Request) -> str:
    """Return the network address that asks."""
    return request.client.host if request.client is not None else "unknown"


def set_cookie(request: Request, response: Response, visitor: Visitor) -> None:
    """Send the visitor's cookie along. On a network it ends with the browser, and holds no rights
    that an account gives.
    """
    state = state_of(request)
    if state.lan is not None:
        visitor = replace(visitor, facilitator=False, coordinator=False)
        if visitor.name:
            visitor = replace(visitor, trainee="", until_ms=0)
    response.set_cookie(
        state.keys.cookie_name,
        state.keys.cookie(visitor, state.clock.now_ms()),
        max_age=COOKIE_AGE_S if state.lan is None else None,
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https",
    )


def how_to_come_in(request: Request, link: str = "the link") -> tuple[str, ...]:
    """Return in words how somebody gets to pages that are not for everybody.

    ``link``: which of the links that the console printed opens them.
    """
    if state_of(request).lan is not None:
        return (
            "Sign in with an account that may open it. Who has none, or has lost the password, "
            "asks an educator or the coordinator for an invitation.",
        )
    return (
        f"Open it with {link} that the console printed when it was started, in this browser.",
        WAY_BACK,
    )
