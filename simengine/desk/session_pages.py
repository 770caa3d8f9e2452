"""The session's own pages and addresses: console, stream, entries, return of the cot, the end."""

from __future__ import annotations

import io
from collections.abc import Sequence

import orjson
import segno
from starlette.requests import Request
from starlette.responses import Response

from simengine.desk.cot import cot_after_the_end
from simengine.desk.equipment_view import faults_of
from simengine.desk.event_stream import OVER, EventStream
from simengine.desk.inputs import BadRequestError, Input, RefusedInput, inputs_from
from simengine.desk.let_in import (
    display_address,
    facilitator,
    picture_address,
    recorder,
    running_of,
    stream_of,
)
from simengine.desk.review import review_of
from simengine.desk.running import Running
from simengine.desk.team_debrief import team_debrief, team_what_if
from simengine.desk.view import ConsolePage, OverPage, ReturnPage
from simengine.session.chain import as_json
from simengine.session.fold import what_is_missing
from simengine.session.live import RefusedError
from simengine.session.rights import kinds_for
from simengine.store import StoreError
from simengine.web.app_state import state_of
from simengine.web.forms import check_token, form_of
from simengine.web.make_debriefs import NO_WHAT_IF, DebriefError, Made
from simengine.web.note_read import note_read
from simengine.web.pages import page, see, way_on
from simengine.web.refusal import RefusalError
from simengine.web.report_answers import report_page, report_pdf

ENDED = (
    "Your code ended with it. What you recorded is kept, and the facilitator opens the debrief.",
    "Something is missing? Tell the facilitator, who can still add it.",
)


async def console(request: Request) -> Response:
    """``GET /s/ID``."""
    visitor, running = recorder(request)
    session = running.plan.session
    scene = running.scene()
    if scene is not None and running.closed and not visitor.facilitator:
        stopped = scene.session.closed == "safety stop"
        title = "STOP: real patient" if stopped else "This session is over"
        over = OverPage(title, ENDED, *way_on(request), cot_after_the_end(scene))
        return page(request, "over.html.j2", over)
    if running.changed:
        return see(f"/s/{session}/review")
    if running.live is None:
        return see(f"/s/{session}/prebrief")
    data = ConsolePage(
        session=session,
        title=running.scenario.title,
        view=running.view("console").decode(),
        stream=f"/s/{session}/stream",
        events=f"/s/{session}/events",
        bedside=display_address(request, running),
        qr=f"/s/{session}/qr.svg",
        code=running.plan.display,
        recorder=running.plan.recorder,
        by=visitor.person,
        may=kinds_for(visitor.recorder.who),
    )
    return page(request, "console.html.j2", data)


async def stream(request: Request) -> EventStream | Response:
    """``GET /s/ID/stream``; once a code has ended with its session it says that and no more."""
    visitor, running = recorder(request)
    if running.live is None:
        raise RefusalError(409, "Not started", "The session has not been opened yet.")
    if running.closed and not visitor.facilitator:
        return Response(OVER, media_type="text/event-stream")
    screen = running.join("console", until_end=not visitor.facilitator)
    return stream_of(request, running, screen)


async def events(request: Request) -> Response:
    """``POST /s/ID/events``: answered once everything taken is durable."""
    visitor, running = recorder(request)
    check_token(request, visitor, request.headers.get("x-csrf-token", ""))
    try:
        given = inputs_from(await request.body())
    except BadRequestError as error:
        raise RefusalError(400, "Not understood", str(error)) from error
    inputs = [entry for entry in given if isinstance(entry, Input)]
    refused = [entry for entry in given if isinstance(entry, RefusedInput)]
    try:
        refused += running.record(inputs, visitor.recorder)
    except StoreError as error:
        raise RefusalError(503, "Not kept", f"{error} The device will send it again.") from error
    unwanted = {entry.id for entry in refused}
    live = running.live
    return _json(
        {
            "taken": [entry.id for entry in inputs if entry.id not in unwanted],
            "refused": [{"id": entry.id, "words": entry.words} for entry in refused],
            "version": len(live.fold.events) if live is not None else 0,
        }
    )


async def qr(request: Request) -> Response:
    """``GET /s/ID/qr.svg``: a picture that opens a display."""
    _, running = recorder(request)
    return picture_of(picture_address(request, running))


def picture_of(address: str) -> Response:
    """Answer with a QR code that opens an address."""
    picture = io.BytesIO()
    segno.make(address, error="m", micro=False).save(
        picture, kind="svg", scale=4, border=2, light="#ffffff", dark="#1b2733", svgclass=None,
        lineclass=None,
    )  # fmt: skip
    return Response(picture.getvalue(), media_type="image/svg+xml")


async def log(request: Request) -> Response:
    """``GET /s/ID/log``: the log as a file."""
    visitor = facilitator(request)
    running = running_of(request)
    live = running.live
    if live is None:
        raise RefusalError(404, "No log yet", "The session has not been opened yet.")
    note_read(request, visitor, "log of a session", people_of(running))
    lines = b"".join(orjson.dumps(as_json(event)) + b"\n" for event in live.events)
    name = f"{running.plan.scenario}-{running.plan.session[:8]}.session.jsonl"
    return Response(
        lines,
        media_type="application/x-ndjson",
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )


async def review(request: Request) -> Response:
    """``GET /s/ID/review``."""
    facilitator(request)
    return page(request, "review.html.j2", await review_of(opened_session(request)))


async def review_json(request: Request) -> Response:
    """``GET /s/ID/review.json``: the record itself, which the page asks for."""
    visitor = facilitator(request)
    running = opened_session(request)
    note_read(request, visitor, "review of a session", people_of(running))
    return _json(await review_of(running))


async def debrief(request: Request) -> Response:
    """``GET /s/ID/debrief``: what is to take home as a page; ``?part=whole``: the whole."""
    return report_page((await _debrief(request)).part(request.query_params.get("part")).html)


async def debrief_pdf(request: Request) -> Response:
    """``GET /s/ID/debrief.pdf``, with ``?part=whole`` the whole."""
    return report_pdf((await _debrief(request)).part(request.query_params.get("part")).pdf)


async def what_if(request: Request) -> Response:
    """``GET /s/ID/debrief/what-if?item=…``: what would have come of it."""
    visitor = facilitator(request)
    running = opened_session(request)
    note_read(request, visitor, "debrief of a session", people_of(running))
    item = request.query_params.get("item", "")
    try:
        file = await team_what_if(state_of(request).debriefs, running, item)
    except DebriefError as error:
        raise RefusalError(500, NO_WHAT_IF, str(error)) from error
    return report_page(file, back=(f"/s/{running.plan.session}/debrief", "Debrief"))


async def return_cot(request: Request) -> Response:
    """``GET /s/ID/return``."""
    facilitator(request)
    return page(request, "return.html.j2", _return_page(opened_session(request), (), {}))


async def cot_returned(request: Request) -> Response:
    """``POST /s/ID/return``: by one person, and then all of it once more by a second one."""
    visitor = facilitator(request)
    form = await form_of(request, visitor)
    running = opened_session(request)
    filled = {name: value[:200] for name, value in form.items() if name != "csrf_token"}
    initials = [form.get(which, "").strip()[:8] for which in ("first", "second")]
    data = {
        "faults": {
            name: form.get(f"fault.{name}") == "yes" for name in running.scenario.start.faults
        },
        "cylinders": form.get("cylinders", "").strip()[:200],
        "drugs": form.get("drugs", "").strip()[:200],
    }
    if "second" not in form:
        of_one = {**data, "initials": [initials[0], "the second person's"]}
        missing = what_is_missing(running.scenario, of_one)
        problems = (f"Not complete yet: {'; '.join(missing)}.",) if missing else ()
        drawn = _return_page(running, problems, filled, second=not missing)
        return page(request, "return.html.j2", drawn, status=422 if missing else 200)
    try:
        if form.get("looked") != "yes":
            raise RefusedError(
                "not-looked", "The second person has to check the cot as well, and say so."
            )
        running.record_one("returned", {**data, "initials": initials}, visitor.recorder)
    except RefusedError as refusal:
        drawn = _return_page(running, (refusal.words,), filled, second=True)
        return page(request, "return.html.j2", drawn, status=422)
    return see(f"/s/{running.plan.session}")


def _return_page(
    running: Running, problems: Sequence[str], filled: dict[str, str], *, second: bool = False
) -> ReturnPage:
    scene = running.scene()
    return ReturnPage(
        running.plan.session,
        running.scenario.title,
        faults_of(scene) if scene is not None else (),
        tuple(problems),
        filled,
        scene.session.closed if scene is not None else None,
        second,
        cot_after_the_end(scene) if scene is not None else None,
    )


def opened_session(request: Request) -> Running:
    """Return the session of the address, which has been opened. Raises ``RefusalError``."""
    running = running_of(request)
    if running.live is None:
        raise RefusalError(404, "Not started", "The session has not been opened yet.")
    return running


def people_of(running: Running) -> list[str]:
    """Return the codes of everybody who has held a role."""
    assert running.live is not None
    held = (
        event.data.get("person")
        for event in running.live.events
        if event.kind in ("joined", "role")
    )
    started = [code for codes in running.plan.team.values() for code in codes]
    return [*started, *(str(code) for code in held if code)]


async def _debrief(request: Request) -> Made:
    visitor = facilitator(request)
    running = opened_session(request)
    note_read(request, visitor, "debrief of a session", people_of(running))
    try:
        return await team_debrief(state_of(request).debriefs, running)
    except DebriefError as error:
        raise RefusalError(500, "The debrief could not be made", str(error)) from error


def _json(data: object) -> Response:
    return Response(orjson.dumps(data), media_type="application/json")
