"""What the templates of all pages are told, as plain data: `page`, and `site` beside it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Site:
    """What every page has: `csrf` goes into forms (`csrf_token`) and into a meta tag, from which
    scripts send it as the header `X-CSRF-Token`. ``nonce`` is not needed: no inline script.
    ``now_ms``: the server's clock. ``signed_in``: the visitor is the facilitator.
    ``coordinates``: the visitor is the coordinator. ``trainee``: the code of the trainee whose
    own pages the visitor may read, else empty.
    """

    version: str
    csrf: str
    now_ms: int
    signed_in: bool
    coordinates: bool
    trainee: str


@dataclass(frozen=True, slots=True)
class MessagePage:
    """`message.html.j2`: one thing to say (not found, link used up, signed out …).

    ``way``: an address to go on to, with ``way_words``; both may be empty.
    """

    title: str
    words: tuple[str, ...]
    way: str
    way_words: str
