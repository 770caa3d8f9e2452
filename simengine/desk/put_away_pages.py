"""Putting away a session that was begun by mistake, and bringing it back.

Rules of this file:

- One that still runs is ended first, as stopped early; a cot with faults in it is returned before.
- The log keeps everything and says why. Nothing of it is in a list or a figure any more but in the
  list of what was put away.
"""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.desk.desk_state import desk_of
from simengine.desk.hub import NoSessionError
from simengine.desk.let_in import facilitator, refuse_alone
from simengine.desk.running import Running
from simengine.desk.session_plan import SessionPlan
from simengine.desk.view import AwayPage, AwayRow, PutAwayPage
from simengine.session import put_away as put_away_entries
from simengine.session.live import RefusedError
from simengine.session.rights import Recorder
from simengine.store import StoreError
from simengine.web.app_state import state_of
from simengine.web.forms import form_of
from simengine.web.pages import page, see
from simengine.web.paging import ROWS, page_number, pages_onward
from simengine.web.refusal import RefusalError

PATH = "/put-away"
MOST_LETTERS = 200


async def ask(request: Request) -> Response:
    """``GET /s/ID/put-away``."""
    facilitator(request)
    return _drawn(request, _plan(request), "")


async def put_away(request: Request) -> Response:
    """``POST /s/ID/put-away`` with `reason`."""
    visitor = facilitator(request)
    form = await form_of(request, visitor)
    plan = _plan(request)
    reason = " ".join(form.get("reason", "").split())[:MOST_LETTERS]
    if not reason:
        return _drawn(request, plan, "Say in a few words why it does not count.", 422)
    try:
        _put_away(request, plan, reason, visitor.recorder)
    except (RefusedError, StoreError) as error:
        words = error.words if isinstance(error, RefusedError) else str(error)
        return _drawn(request, plan, words, 422, reason)
    return see("/")


async def bring_back(request: Request) -> Response:
    """``POST /s/ID/bring-back``."""
    visitor = facilitator(request)
    await form_of(request, visitor)
    plan = _plan(request)
    running = _running(request, plan)
    try:
        if running.live is None:
            state_of(request).store.put_away(plan.session, None)
        else:
            entry = put_away_entries.standing(running.live.events)
            if entry is not None:
                withdrawn = {"id": entry.id, "withdrawn": True}
                running.record_one("amend", withdrawn, visitor.recorder)
    except (RefusedError, StoreError) as error:
        raise RefusalError(409, "It could not be brought back", str(error)) from error
    return see("/")


async def away(request: Request) -> Response:
    """``GET /put-away``."""
    facilitator(request)
    number = page_number(request)
    listed = desk_of(request).hub.sessions((number - 1) * ROWS, ROWS + 1, away=True)
    pages = pages_onward(PATH, {}, number, len(listed))
    rows = tuple(
        AwayRow(plan.session, plan.title, stored.planned.wall, stored.put_away, stored.opened)
        for stored, plan in listed[:ROWS]
    )
    return page(request, "away.html.j2", AwayPage(rows, pages.before, pages.after))


def _put_away(request: Request, plan: SessionPlan, reason: str, by: Recorder) -> None:
    running = _running(request, plan)
    if running.live is None:
        state_of(request).store.put_away(plan.session, reason)
        return
    if not running.closed:
        running.record_one("closed", {"why": "stopped early"}, by)
    running.record_one("put_away", {"reason": reason}, by)


def _plan(request: Request) -> SessionPlan:
    try:
        plan = desk_of(request).hub.plan_of(request.path_params["session"])
    except NoSessionError as error:
        raise RefusalError(404, "There is no such session", str(error)) from error
    refuse_alone(plan)
    return plan


def _running(request: Request, plan: SessionPlan) -> Running:
    try:
        return desk_of(request).hub.running(plan.session)
    except NoSessionError as error:
        raise RefusalError(409, "This session can't be opened", str(error)) from error


def _drawn(
    request: Request, plan: SessionPlan, problem: str, status: int = 200, reason: str = ""
) -> Response:
    running = _running(request, plan)
    data = PutAwayPage(
        session=plan.session,
        title=plan.title,
        standing="prebrief" if running.live is None else "ended" if running.closed else "running",
        problem=problem,
        reason=reason,
    )
    return page(request, "put_away.html.j2", data, status=status)
