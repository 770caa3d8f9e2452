"""Handing a trainee a code that opens their own pages."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.contexts import CodePage
from simengine.coordinator.who_may_read import EDUCATORS_TOO, teacher
from simengine.store.lists import is_known
from simengine.web.app_state import state_of
from simengine.web.forms import form_of
from simengine.web.pages import page
from simengine.web.trainee_codes import TRAINEE_CODE_MS

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
    state = state_of(request)
    trainee = fields.get("trainee", "").strip()[:40]
    if not is_known(state.store, trainee):
        problem = (
            f"Nobody has the code '{trainee}': it is not on the roster, nor in any session kept "
            "here. Check it; capital and small letters matter."
        )
        data = _page(request, trainee, "", problem)
        return page(request, "cohort/code.html.j2", data, status=422)
    ticket = state.tickets.make(trainee, state.clock.now_ms())
    return page(request, "cohort/code.html.j2", _page(request, trainee, ticket))


def _page(request: Request, trainee: str, ticket: str, *problems: str) -> CodePage:
    return CodePage(
        here=PATH,
        readers=EDUCATORS_TOO,
        problems=problems,
        trainee=trainee,
        code=ticket,
        minutes=TRAINEE_CODE_MS // _MS_PER_MIN,
        address=f"{state_of(request).address}/join",
    )
