"""How a device comes to trust this console: its certificate, and who signed that."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.web.app_state import state_of
from simengine.web.page_contexts import TrustPage
from simengine.web.pages import page
from simengine.web.refusal import RefusalError


async def trust(request: Request) -> Response:
    """``GET /trust``."""
    lan = state_of(request).lan
    assert lan is not None
    data = TrustPage(lan.address, lan.fingerprint, lan.authority_fingerprint)
    return page(request, "trust.html.j2", data)


async def authority(request: Request) -> Response:
    """``GET /authority.crt``: what a device is to trust, as a file."""
    lan = state_of(request).lan
    if lan is None or not lan.authority:
        words = "The certificate of this console was given by the hospital, which signs it, too."
        raise RefusalError(404, "Nothing to install", words)
    return Response(
        lan.authority,
        media_type="application/x-x509-ca-cert",
        headers={"content-disposition": 'attachment; filename="simengine-authority.crt"'},
    )
