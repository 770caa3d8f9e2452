"""The page after a try, its debrief, and trying again from a state that was come to."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.desk.desk_state import desk_of
from simengine.desk.hub import Hub, NoSessionError
from simengine.desk.running import Running
from simengine.desk.team_debrief import team_debrief, team_what_if
from simengine.quantities.formatting import clock
from simengine.rehearsal.calls import calls_answered
from simengine.rehearsal.director import AloneDirector
from simengine.rehearsal.own_times import IN_A_ROW, headings, time_rows, tries_of
from simengine.rehearsal.page_contexts import AfterPage, AgainFrom
from simengine.rehearsal.rehearsal_sentences import say
from simengine.rehearsal.who_may_play import own_rehearsal
from simengine.session.record import Session
from simengine.session.retry import LASTS_MS, retry_of
from simengine.store import StoreError
from simengine.web.app_state import state_of
from simengine.web.forms import form_of
from simengine.web.make_debriefs import NO_WHAT_IF, DebriefError, Made
from simengine.web.pages import page, see
from simengine.web.refusal import RefusalError
from simengine.web.report_answers import report_page, report_pdf


async def after(request: Request) -> Response:
    """``GET /rehearse/ID/after``."""
    _, running = own_rehearsal(request)
    session = _ended(running)
    await desk_of(request).results.made()
    hub, plan = desk_of(request).hub, running.plan
    tries = tries_of(state_of(request).store, hub.played_by(plan.alone), plan)
    number = len(tries)
    once_more = "" if not plan.again else _moment(session).event
    data = AfterPage(
        say=say,
        session=plan.session,
        scenario=plan.scenario,
        title=plan.title,
        ended=_ended_words(session),
        headings=headings(len(tries), in_a_row=bool(plan.again)),
        times=time_rows(running.scenario, tries, in_a_row=bool(plan.again)),
        calls=_calls(running),
        states=states_of(session),
        once_more=once_more,
        once_more_words=_once_more(number) if once_more else "",
    )
    return page(request, "after.html.j2", data)


async def again(request: Request) -> Response:
    """``POST /rehearse/ID/again``: from a state that was come to; it runs at once."""
    visitor, running = own_rehearsal(request)
    form = await form_of(request, visitor)
    session = _ended(running)
    chosen = form.get("state", "")
    stay = next((passed for passed in session.stays if passed.event_id == chosen and chosen), None)
    if stay is None:
        raise RefusalError(404, say("no_state_title"), say("no_state"))
    hub = desk_of(request).hub
    first = _first_of(hub, running) if stay.event_id == _moment(session).event else running
    assert first.live is not None
    entered = [entry for entry in first.live.events if entry.kind == "state"]
    event = next((entry for entry in entered if entry.id == chosen), None)
    if event is None:
        raise RefusalError(404, say("no_state_title"), say("no_state"))
    try:
        plan = hub.retry(first, event, stay.entry_ms, LASTS_MS)
    except StoreError as error:
        raise RefusalError(503, say("not_kept"), str(error)) from error
    return see(f"/rehearse/{plan.session}")


async def debrief(request: Request) -> Response:
    """``GET /rehearse/ID/debrief``: what is to take home; ``?part=whole``: the whole."""
    made = (await _debrief(request)).part(request.query_params.get("part"))
    session = request.path_params["session"]
    return report_page(made.html, back=(f"/rehearse/{session}/after", say("back_to_try")))


async def debrief_pdf(request: Request) -> Response:
    """``GET /rehearse/ID/debrief.pdf``, with ``?part=whole`` the whole."""
    return report_pdf((await _debrief(request)).part(request.query_params.get("part")).pdf)


async def what_if(request: Request) -> Response:
    """``GET /rehearse/ID/debrief/what-if?item=…``: what would have come of it."""
    _, running = own_rehearsal(request)
    _ended(running)
    item = request.query_params.get("item", "")
    try:
        file = await team_what_if(state_of(request).debriefs, running, item)
    except DebriefError as error:
        raise RefusalError(500, NO_WHAT_IF, str(error)) from error
    return report_page(
        file, back=(f"/rehearse/{running.plan.session}/debrief", say("back_debrief"))
    )


def states_of(session: Session) -> tuple[AgainFrom, ...]:
    """Return the states that were come to and went on, from which a try can go on again."""
    states = session.scenario.states
    zero = session.record.clock_ms or 0
    return tuple(
        AgainFrom(
            stay.event_id,
            say("from_state", title=states[stay.state].title, at=clock(stay.entry_ms - zero)),
        )
        for stay in session.stays[1:]
        if stay.event_id and not states[stay.state].ends
    )


def _calls(running: Running) -> tuple[str, ...]:
    director = running.director
    cot = director.cot if isinstance(director, AloneDirector) else None
    return calls_answered(running.live.fold, cot.bench) if cot and running.live else ()


def _once_more(number: int) -> str:
    if number >= IN_A_ROW:
        return say("again_after_three")
    return say("try_number", number=number + 1, of=IN_A_ROW)


def _moment(session: Session) -> AgainFrom:
    """Return the moment that a try was a retry of; empty where it was none."""
    retry = retry_of(session.events[0])
    if retry is None:
        return AgainFrom("", "")
    stay = next(passed for passed in session.stays if passed.entry_ms == retry.from_ms)
    return AgainFrom(stay.event_id or "", session.scenario.states[stay.state].title)


def _first_of(hub: Hub, running: Running) -> Running:
    """Return the try that a retry goes back to, if it is still there."""
    retry = retry_of(running.live.events[0] if running.live is not None else None)
    try:
        return hub.running(retry.session) if retry is not None else running
    except NoSessionError:
        return running


def _ended(running: Running) -> Session:
    live = running.live
    if live is None or not live.closed:
        raise RefusalError(409, say("still_runs_title"), say("still_runs"))
    return live.session()


def _ended_words(session: Session) -> str:
    title = session.scenario.states[session.stays[-1].state].title
    if session.closed == "finished":
        return say("ended_in", title=title)
    return say("ended_early", title=title)


async def _debrief(request: Request) -> Made:
    _, running = own_rehearsal(request)
    _ended(running)
    try:
        return await team_debrief(state_of(request).debriefs, running)
    except DebriefError as error:
        raise RefusalError(500, say("no_debrief"), str(error)) from error
