"""Forms: read only with the visitor's token, which shows that a page of ours sent them."""

from __future__ import annotations

from datetime import date
from urllib.parse import urlsplit

from starlette.requests import Request

from simengine.web.app_state import state_of
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor


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
    if visitor is None or not state_of(request).keys.is_form_token(visitor, token):
        raise RefusalError(
            403,
            "The page is out of date",
            "Go back, load the page again, and send it once more.",
        )


def day_of(text: str, label: str, problems: list[str]) -> date | None:
    """Return the day in a field; ``None`` where it is empty, or after a problem."""
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        problems.append(f"{label}: expected a day such as 2026-03-01, found '{text[:20]}'.")
        return None
