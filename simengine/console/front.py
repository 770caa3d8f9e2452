"""What every page needs: who is asking, templates, form tokens, and plain refusals.

Rules of this file:

- Pages are drawn with every text escaped; scripts get their data from attributes, never inline.
- Who may not do a thing is told so in words, with what to do instead.
- Forms and scripts send the visitor's token; without it nothing is changed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from urllib.parse import quote, urlsplit

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from simengine import __version__
from simengine.console.debriefs import Debriefs
from simengine.console.event_stream import EventStream
from simengine.console.hub import Hub, NoSessionError
from simengine.console.pictures import Pictures
from simengine.console.reports import Reports
from simengine.console.results import Results
from simengine.console.running import Running
from simengine.console.screens import Screen
from simengine.console.security import (
    COOKIE,
    COOKIE_AGE_S,
    Guesses,
    Keys,
    OneTimeLink,
    Tickets,
    Visitor,
    new_visitor,
)
from simengine.console.stream_limits import StreamLimits
from simengine.console.view import CotView, MessagePage, Site
from simengine.store import Store

PAGES = Path(__file__).with_name("pages")

WAY_BACK = (
    "The link works once. If that browser is lost, whoever started the console presses Enter in "
    "the window in which it runs: it prints a new link. Running sessions carry on."
)
NOT_SIGNED_IN = (
    "This page is for the facilitator. Open the console with the link that it printed when it "
    "was started, in this browser.",
    WAY_BACK,
)


_WAYS = {"/": "All sessions", "/cohort": "The coordinator's pages"}


class RefusalError(Exception):
    """A request that is refused: status, and words for a person."""

    def __init__(self, status: int, title: str, *words: str) -> None:
        self.status = status
        self.title = title
        self.words = words
        super().__init__(title)


@dataclass(frozen=True, slots=True)
class Front:
    """The parts that pages share. ``address``: how this server is reached from outside.

    ``link`` opens the console, ``coordinating`` the coordinator's pages, ``tickets`` trainees'.
    """

    hub: Hub
    keys: Keys
    link: OneTimeLink
    coordinating: OneTimeLink
    tickets: Tickets
    guesses: Guesses
    stream_limits: StreamLimits
    debriefs: Debriefs
    results: Results
    reports: Reports
    pictures: Pictures
    address: str

    @property
    def store(self) -> Store:
        """The store that everything is kept in."""
        return self.hub.store


def front_of(request: Request) -> Front:
    """Return the shared parts."""
    front = request.app.state.front
    assert isinstance(front, Front)
    return front


def known_visitor(request: Request) -> Visitor | None:
    """Return who is asking, if the cookie tells."""
    front = front_of(request)
    return front.keys.visitor(request.cookies.get(COOKIE), front.hub.clock.now_ms())


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


def home_of(visitor: Visitor, now_ms: int) -> str:
    """Return the address of the page that a visitor begins with; empty where they have none."""
    if visitor.facilitator:
        return "/"
    if visitor.coordinator:
        return "/cohort"
    trainee = visitor.is_trainee(now_ms)
    return f"/cohort/people/{quote(trainee, safe='')}" if trainee else ""


def running_of(request: Request) -> Running:
    """Return the session that the address names. Raises ``RefusalError``."""
    try:
        return front_of(request).hub.running(request.path_params["session"])
    except NoSessionError as error:
        raise RefusalError(404, "This session can't be opened", str(error)) from error


async def form_of(request: Request, visitor: Visitor | None) -> dict[str, str]:
    """Return a form's fields, once its token has been found right. Raises ``RefusalError``."""
    kind = request.headers.get("content-type", "").partition(";")[0]
    if kind != "application/x-www-form-urlencoded":
        raise RefusalError(415, "Not a form", "This address takes forms only.")
    async with request.form(max_fields=200) as raw:
        form = {name: value for name, value in raw.items() if isinstance(value, str)}
    check_token(request, visitor, form.get("csrf_token", ""))
    return form


def check_token(request: Request, visitor: Visitor | None, token: str) -> None:
    """Raise ``RefusalError`` unless the token is this visitor's and the page is ours."""
    origin = request.headers.get("origin")
    here = request.headers.get("host")
    if origin is not None and origin != "null" and urlsplit(origin).netloc != here:
        raise RefusalError(403, "From elsewhere", "This was sent by a page of another address.")
    if visitor is None or not front_of(request).keys.is_form_token(visitor, token):
        raise RefusalError(
            403,
            "The page is out of date",
            "Go back, load the page again, and send it once more.",
        )


def page(
    request: Request,
    template: str,
    data: object,
    *,
    visitor: Visitor | None = None,
    status: int = 200,
) -> Response:
    """Draw a page; a visitor whom nobody knows yet gets a cookie with it."""
    front = front_of(request)
    visitor = visitor or known_visitor(request)
    fresh = visitor is None
    visitor = visitor or new_visitor()
    site = Site(
        version=__version__,
        csrf=front.keys.form_token(visitor),
        now_ms=front.hub.clock.now_ms(),
        signed_in=visitor.facilitator,
        coordinates=visitor.coordinator,
        trainee=visitor.is_trainee(front.hub.clock.now_ms()),
    )
    response = HTMLResponse(
        _templates().get_template(template).render(page=data, site=site), status
    )
    if fresh:
        set_cookie(request, response, visitor)
    return response


def message(
    request: Request,
    status: int,
    title: str,
    *words: str,
    way: str = "",
    cot: CotView | None = None,
) -> Response:
    """Draw a page that says one thing; before it, what is to be said of a cot."""
    visitor = known_visitor(request)
    if not way and visitor is not None:
        now_ms = front_of(request).hub.clock.now_ms()
        way = home_of(visitor, now_ms)
    data = MessagePage(title, words, way, _WAYS.get(way, "Go on"), cot)
    return page(request, "message.html.j2", data, status=status)


def set_cookie(request: Request, response: Response, visitor: Visitor) -> None:
    """Send the visitor's cookie along."""
    front = front_of(request)
    response.set_cookie(
        COOKIE,
        front.keys.cookie(visitor, front.hub.clock.now_ms()),
        max_age=COOKIE_AGE_S,
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https",
    )


def see(address: str) -> Response:
    """Send the browser on to another page after a form."""
    return RedirectResponse(address, 303)


def client_of(request: Request) -> str:
    """Return which client asks: a browser by its cookie, else the address that sent none."""
    visitor = known_visitor(request)
    if visitor is not None:
        return visitor.id
    return request.client.host if request.client is not None else "unknown"


def stream_of(request: Request, running: Running, screen: Screen) -> EventStream:
    """Return the stream of a screen, within the limits of its client."""
    front = front_of(request)
    front.stream_limits.admit(screen, client_of(request))

    def let_go(gone: Screen) -> None:
        front.stream_limits.leave(gone)
        running.leave(gone)

    return EventStream(screen, front.hub.clock.now_ms, let_go)


@cache
def _templates() -> Environment:
    return Environment(
        loader=FileSystemLoader(PAGES / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
