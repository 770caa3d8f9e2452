"""What every request and every answer must pass, before any page's own code.

Rules of this file:

- The Host header must be one that this server is reached by, or a page elsewhere could have its
  own name resolve to this machine and read it.
- A body is read no further than ``limits.BODY_BYTES``.
- Every answer carries a strict Content-Security-Policy: no inline script or style, nothing from
  another host. A page that brings styles of its own (the debrief) names their hashes itself.
- Where somebody whom devices trust vouches for the certificate, browsers are told to come over TLS
  alone from then on (RFC 6797). A certificate that the console made gets no such word: a browser
  that keeps to it lets nobody past a warning, and a lost authority would lock every device out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from simengine.limits import BODY_BYTES

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)

HEADERS = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "x-frame-options": "DENY",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}

TLS_ALONE = {"strict-transport-security": f"max-age={30 * 24 * 60 * 60}"}
"""For 30 days after each visit, so that a hospital which gives its certificate up is not shut out
for a year. It holds for this host on every port, and for no other host."""


class BodyTooLargeError(Exception):
    """A body went over the limit."""


class Guard:
    """ASGI middleware: Host, size, headers.

    ``hosts``: the Host headers that are ours. ``vouched_for``: whether devices trust the
    certificate without having been told to.
    """

    def __init__(self, app: ASGIApp, hosts: Iterable[str], *, vouched_for: bool) -> None:
        self._app = app
        self._hosts = frozenset(hosts)
        self._headers = HEADERS | (TLS_ALONE if vouched_for else {})

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it here."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        answer = _with_headers(send, self._headers)
        if headers.get("host", "") not in self._hosts:
            response = PlainTextResponse("This address is not served here.", 421)
            await response(scope, receive, answer)
            return
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > BODY_BYTES:
            await _too_large(scope, receive, answer)
            return
        read = 0

        async def counted() -> Message:
            nonlocal read
            message = await receive()
            read += len(message.get("body", b""))
            if read > BODY_BYTES:
                raise BodyTooLargeError
            return message

        try:
            await self._app(scope, counted, answer)
        except BodyTooLargeError:
            await _too_large(scope, receive, answer)


async def _too_large(scope: Scope, receive: Receive, send: Send) -> None:
    words = f"That is more than {BODY_BYTES // 1024} kB, the most that is taken at once."
    await PlainTextResponse(words, 413)(scope, receive, send)


def _with_headers(send: Send, own: Mapping[str, str]) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in own.items():
                headers.setdefault(name, value)
            headers.setdefault("content-security-policy", POLICY)
            headers.setdefault("cache-control", "no-store")
        await send(message)

    return sending
