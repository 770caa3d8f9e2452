"""Handing a trainee a code that opens their own pages."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.console.cohort.contexts import CodePage
from simengine.console.cohort.doors import EDUCATORS_TOO, teacher
from simengine.console.front import form_of, front_of, page
from simengine.console.security import TRAINEE_CODE_MS
from simengine.store.lists import is_known

PATH = "/cohort/code"
_MS_PER_MIN = 60_000


async def form(request: Request) -> Response:
    """``GET /cohort/code``."""
    teacher(request)
    return page(request, "cohort/code.html.j2", _page(request, "", ""))


async def make(request: Request) -> Response:
    """``POST /cohort/code``."""
    visitor = teacher(request)
    fields = await form_of(request, visitor)
    front = front_of(request)
    trainee = fields.get("trainee", "").strip()[:40]
    if not is_known(front.store, trainee):
        problem = (
            f"Nobody has the code '{trainee}': not on the roster, and in no session that is kept. "
            "Look at it again; small and capital letters count."
        )
        data = _page(request, trainee, "", problem)
        return page(request, "cohort/code.html.j2", data, status=422)
    ticket = front.tickets.make(trainee, front.hub.clock.now_ms())
    return page(request, "cohort/code.html.j2", _page(request, trainee, ticket))


def _page(request: Request, trainee: str, ticket: str, *problems: str) -> CodePage:
    return CodePage(
        here=PATH,
        readers=EDUCATORS_TOO,
        problems=problems,
        trainee=trainee,
        code=ticket,
        minutes=TRAINEE_CODE_MS // _MS_PER_MIN,
        address=f"{front_of(request).address}/join",
    )
