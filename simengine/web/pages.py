"""Pages and what they answer with: templates of both houses, a message, the way on.

Rules of this file:

- Pages are drawn with every text escaped; scripts get their data from attributes, never inline.
- Who may not do a thing is told so in words, with what to do instead.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from simengine import __version__
from simengine.web.app_state import state_of
from simengine.web.local_time import local
from simengine.web.page_contexts import MessagePage, Site
from simengine.web.security import Visitor, new_visitor
from simengine.web.who_asks import home_of, known_visitor, set_cookie

_WAYS = {"/": "All sessions", "/cohort": "The coordinator's pages", "/sign-in": "Sign in"}


def page(
    request: Request,
    template: str,
    data: object,
    *,
    visitor: Visitor | None = None,
    status: int = 200,
) -> Response:
    """Draw a page; a visitor whom nobody knows yet gets a cookie with it."""
    state = state_of(request)
    visitor = visitor or known_visitor(request)
    fresh = visitor is None
    visitor = visitor or new_visitor()
    site = Site(
        version=__version__,
        csrf=state.keys.form_token(visitor),
        now_ms=state.clock.now_ms(),
        signed_in=visitor.facilitator,
        coordinates=visitor.coordinator,
        trainee=visitor.is_trainee(state.clock.now_ms()),
        account=visitor.name,
        lan=state.lan,
    )
    response = HTMLResponse(
        state.templates.get_template(template).render(page=data, site=site), status
    )
    if fresh:
        set_cookie(request, response, visitor)
    return response


def message(request: Request, status: int, title: str, *words: str, way: str = "") -> Response:
    """Draw a page that says one thing."""
    way, way_words = way_on(request, way)
    data = MessagePage(title, words, way, way_words)
    return page(request, "message.html.j2", data, status=status)


def way_on(request: Request, way: str = "") -> tuple[str, str]:
    """Return an address to go on to, else the visitor's own first page, and its words."""
    state = state_of(request)
    visitor = known_visitor(request)
    if not way and visitor is not None:
        way = home_of(visitor, state.clock.now_ms())
    if not way and state.lan is not None:
        way = "/sign-in"
    return way, _WAYS.get(way, "Go on")


def see(address: str) -> Response:
    """Send the browser on to another page after a form."""
    return RedirectResponse(address, 303)


@cache
def templates(*folders: Path) -> Environment:
    """Return the templates in these folders, each text escaped; ``local`` tells an instant.

    Each template is compiled once for all consoles of a process.
    """
    made = Environment(
        loader=FileSystemLoader(folders),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["local"] = local
    return made
