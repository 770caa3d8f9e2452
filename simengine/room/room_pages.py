"""The room's pages: the tablet that leads, the wall that follows, and what people take with them.

Rules of this file:

- The facilitator leads; the wall is opened by a code of its own, and shows nothing until the room
  is open and after it was ended.
- What people write is kept before it is shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

import orjson
from starlette.requests import Request
from starlette.responses import Response

from simengine.desk.console_view import banner_of
from simengine.desk.desk_state import desk_of
from simengine.desk.event_stream import EventStream
from simengine.desk.join import shown_by_code
from simengine.desk.let_in import facilitator
from simengine.desk.running import READ_ONLY, Running
from simengine.desk.screens import Screen, ScreenKind
from simengine.desk.session_pages import opened_session, people_of, picture_of
from simengine.room.contexts import RoomPage, Step, WallPage, Words
from simengine.room.position import NoPositionError
from simengine.room.room_sentences import say
from simengine.room.rooms import Rooms
from simengine.session.retry import LASTS_MS
from simengine.store import StoreError, own_words
from simengine.store.own_words import OwnWords
from simengine.web.app_state import state_of
from simengine.web.clock import wall as wall_clock
from simengine.web.forms import check_token, form_of
from simengine.web.note_read import note_read
from simengine.web.pages import page, see
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor, as_code
from simengine.web.who_asks import client_of

_MOST_BODY = 20_000
_MINUTES = range(1, 16)


def rooms_of(request: Request) -> Rooms:
    """Return the rooms."""
    rooms = request.app.state.rooms
    assert isinstance(rooms, Rooms)
    return rooms


async def room(request: Request) -> Response:
    """``GET /s/ID/room``: the tablet that leads."""
    visitor = facilitator(request)
    running = _ended(request)
    rooms = rooms_of(request)
    note_read(request, visitor, "debriefing room of a session", people_of(running))
    await rooms.begin(running)
    content = await rooms.content(running)
    session = running.plan.session
    code = state_of(request).keys.wall_code(session)
    data = RoomPage(
        session=session,
        title=content.title,
        band=_band(running),
        caution=f"{content.caution} {content.protocol}",
        steps=_steps(),
        words=_words(),
        story=content.story,
        content=_text(asdict(content)),
        view=_text(rooms.view(running, "room")),
        stream=f"/s/{session}/room/stream",
        wall=f"{state_of(request).address}/wall/{code}",
        qr=f"/s/{session}/room/qr.svg",
        code=code,
        retries=content.retries,
        minutes=LASTS_MS // 60_000,
        alone=state_of(request).lan is None,
    )
    return page(request, "room.html.j2", data)


async def stream(request: Request) -> EventStream:
    """``GET /s/ID/room/stream``; a tablet that comes back after a restart opens the room again."""
    facilitator(request)
    running = _ended(request)
    await rooms_of(request).begin(running)
    return _stream(request, running, "room")


async def show(request: Request) -> Response:
    """``POST /s/ID/room/show``: what the wall is to show from now on."""
    visitor = facilitator(request)
    running = _ended(request)
    position = await _told(request, visitor)
    try:
        await rooms_of(request).move(running, position)
    except NoPositionError as error:
        raise RefusalError(400, "Not understood", str(error)) from error
    return _json(rooms_of(request).view(running, "room"))


async def write(request: Request) -> Response:
    """``POST /s/ID/room/words``: what somebody takes along, or set out to do; kept on return."""
    visitor = facilitator(request)
    running = _ended(request)
    sent = await _told(request, visitor)
    state, rooms = state_of(request), rooms_of(request)
    code, words, kind = sent.get("code"), sent.get("words"), sent.get("kind")
    if code not in [person.code for person in rooms.people(running)]:
        raise RefusalError(400, "Not understood", "Nobody with this code took part.")
    if not isinstance(words, str) or kind not in ("goal", "take along"):
        raise RefusalError(400, "Not understood", "Expected words, and goal or take along.")
    now = wall_clock(state.clock.wall_ms())
    own_words.put(state.store, OwnWords(running.plan.session, str(code), kind, words, now))
    rooms.show(running)
    return _json(rooms.view(running, "room"))


async def end(request: Request) -> Response:
    """``POST /s/ID/room/end``: the wall shows nothing of the session any longer."""
    visitor = facilitator(request)
    await form_of(request, visitor)
    running = _ended(request)
    rooms_of(request).end(running)
    return see(f"/s/{running.plan.session}/review")


async def qr(request: Request) -> Response:
    """``GET /s/ID/room/qr.svg``: a picture that opens the wall."""
    facilitator(request)
    running = _ended(request)
    state = state_of(request)
    code = state.keys.wall_code(running.plan.session)
    way = f"join?code={code}" if state.lan is not None else f"wall/{code}"
    return picture_of(f"{state.address}/{way}")


async def retry(request: Request) -> Response:
    """``POST /s/ID/retry``: begin a short session from a state passed; it runs at once."""
    visitor = facilitator(request)
    form = await form_of(request, visitor)
    running = _ended(request)
    content = await rooms_of(request).content(running)
    chosen = form.get("state", "")
    minutes = form.get("minutes", "")
    if chosen not in [retry.event for retry in content.retries]:
        raise RefusalError(400, "No such state", "This session never reached that state.")
    if not minutes.isdecimal() or int(minutes) not in _MINUTES:
        words = f"It lasts {_MINUTES[0]} to {_MINUTES[-1]} whole minutes; found '{minutes[:20]}'."
        raise RefusalError(400, "How long?", words)
    live = running.live
    assert live is not None
    entered = next(event for event in live.events if event.id == chosen)
    stays = live.session().stays
    from_ms = next(stay.entry_ms for stay in stays if stay.event_id == chosen)
    hub = desk_of(request).hub
    try:
        plan = hub.retry(running, entered, from_ms, int(minutes) * 60_000)
    except StoreError as error:
        raise RefusalError(503, "Not kept", str(error)) from error
    return see(f"/s/{plan.session}")


async def wall(request: Request) -> Response:
    """``GET /wall/CODE``: the wall, which follows the tablet."""
    running = _by_wall(request)
    rooms = rooms_of(request)
    shown = rooms.room(running.plan.session).open
    content = await rooms.content(running) if shown else None
    data = WallPage(
        band=_band(running) if shown else "",
        caution=content.caution if content is not None else "",
        steps=_steps(),
        words=_words(),
        content=_text(asdict(rooms.for_wall(running, content)) if content is not None else None),
        view=_text(rooms.view(running, "wall")),
        stream=f"/wall/{as_code(request.path_params['code'])}/stream",
        waiting=say("waiting"),
        over=say("over"),
    )
    return page(request, "wall.html.j2", data)


async def wall_stream(request: Request) -> EventStream:
    """``GET /wall/CODE/stream``."""
    return _stream(request, _by_wall(request), "wall")


def _by_wall(request: Request) -> Running:
    code = as_code(request.path_params["code"])
    return shown_by_code(request, desk_of(request).by_wall(code))


def _stream(request: Request, running: Running, kind: ScreenKind) -> EventStream:
    rooms, limits = rooms_of(request), desk_of(request).stream_limits
    screen = rooms.join(running, kind)
    limits.admit(screen, client_of(request))

    def let_go(gone: Screen) -> None:
        limits.leave(gone)
        rooms.leave(running, gone)

    return EventStream(screen, state_of(request).clock.now_ms, let_go)


def _ended(request: Request) -> Running:
    running = opened_session(request)
    if running.changed:
        raise RefusalError(409, "Read-only", f"{READ_ONLY} {running.changed}.")
    if not running.closed:
        raise RefusalError(409, "Still running", "The debrief begins once the session has ended.")
    return running


async def _told(request: Request, visitor: Visitor) -> Mapping[str, Any]:
    check_token(request, visitor, request.headers.get("x-csrf-token", ""))
    body = await request.body()
    try:
        sent = orjson.loads(body) if len(body) <= _MOST_BODY else None
    except orjson.JSONDecodeError:
        sent = None
    if not isinstance(sent, dict):
        raise RefusalError(400, "Not understood", "Expected a JSON object.")
    return sent


def _band(running: Running) -> str:
    return banner_of(running.scenario, running.plan.purpose).band


def _steps() -> tuple[Step, ...]:
    first = (say("feelings_first"), say("feelings_second"), say("feelings_third"))
    return (
        Step("feelings", say("step_feelings"), say("feelings_lead"), first),
        Step("story", say("step_story"), say("story_lead")),
        Step("reasons", say("step_reasons"), ""),
        Step("along", say("step_along"), say("along_lead"), (say("along_none"),)),
        Step("score", say("step_score"), ""),
    )


def _words() -> Words:
    return Words(
        goals=say("goals_title"),
        stopped=say("stopped"),
        known=say("known_title"),
        acts=say("acts_title"),
        no_moment=say("no_moment"),
        seen=say("seen_title"),
        done=say("done_title"),
        asked=say("asked_title"),
        what_if=say("what_if_limits"),
    )


def _text(value: Any) -> str:
    return orjson.dumps(value).decode()


def _json(data: object) -> Response:
    return Response(orjson.dumps(data), media_type="application/json")
