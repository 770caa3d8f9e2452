"""The console's routes, of both houses, and what stands round them."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterable, Sequence
from contextlib import asynccontextmanager
from functools import partial
from pathlib import Path

import orjson
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Mount, Route

from simengine.console.health import health
from simengine.coordinator.coordinator_routes import ROUTES
from simengine.coordinator.coordinator_state import CoordinatorState
from simengine.coordinator.pictures import Pictures
from simengine.coordinator.reports import Reports
from simengine.desk import (
    again,
    choose,
    day_pages,
    join,
    put_away_pages,
    session_pages,
    who_is_here,
)
from simengine.desk.desk_state import DeskState
from simengine.desk.hub import Hub
from simengine.desk.keep_results import Results
from simengine.desk.stream_limits import StreamLimits
from simengine.desk.streams import streaming
from simengine.desk.team_debrief import begin_at_end
from simengine.limits import BODY_BYTES
from simengine.practice_check.codes import Codes
from simengine.practice_check.practice_routes import ROUTES as PRACTICE_ROUTES
from simengine.rehearsal.play_pages import director_of
from simengine.rehearsal.rehearsal_routes import ROUTES as REHEARSAL_ROUTES
from simengine.resources import fonts_dir
from simengine.room.room_routes import ROUTES as ROOM_ROUTES
from simengine.room.rooms import Rooms
from simengine.session.events import Event
from simengine.store import StoreError
from simengine.store.data_folder import DEBRIEFS
from simengine.web.app_state import AppState, state_of
from simengine.web.guard import BodyTooLargeError, Guard
from simengine.web.held_files import HeldFiles
from simengine.web.lan import Lan
from simengine.web.make_debriefs import Debriefs
from simengine.web.network_routes import NETWORK_ROUTES
from simengine.web.pages import message, templates
from simengine.web.passwords import Passwords
from simengine.web.refusal import RefusalError
from simengine.web.security import Guesses, Keys, OneTimeLink
from simengine.web.trainee_codes import TraineeCodes

_HOUSES = ("web", "desk", "coordinator", "room", "rehearsal", "practice_check")
_TEMPLATES = [Path(__file__).parents[1] / house / "templates" for house in _HOUSES]
_STATIC: list[str | tuple[str, str]] = [(f"simengine.{house}", "static") for house in _HOUSES]

_THIS_MACHINE_ALONE = (
    Route("/enter/{token}", join.enter),
    Route("/coordinate/{token}", join.coordinate),
)


def make_app(
    hub: Hub,
    data: Path,
    *,
    hosts: Iterable[str],
    address: str,
    link: OneTimeLink,
    coordinating: OneTimeLink,
    lan: Lan | None = None,
    passwords: Passwords | None = None,
) -> Starlette:
    """Return the console as an ASGI app. It closes ``hub`` when it ends.

    ``data``: the folder for keys and debriefs. ``hosts``: the Host headers by which it is
    reached. ``address``: what a display's link begins with. ``link`` opens the console,
    ``coordinating`` the coordinator's pages. ``lan``: how it is reached over a network: then there
    are accounts in place of both links.
    """
    debriefs = Debriefs(data / DEBRIEFS, hub.shelf)
    results = Results(hub.store, hub.shelf.folders, debriefs.keep_card)
    debriefs.scored = results.made
    debriefs.log_of = partial(_log_of, hub)
    reports = Reports(data / "reports", hub.store)
    hub.ended = partial(begin_at_end, debriefs)
    hub.renewed = results.renew
    hub.directed = partial(director_of, hub.shelf.folders)

    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        hub.start()
        await hub.shelf.look_and_check()
        late = asyncio.create_task(results.catch_up(hub))
        try:
            yield
        finally:
            late.cancel()
            await asyncio.gather(late, return_exceptions=True)
            await hub.shelf.stop()
            await debriefs.stop()
            await reports.stop()
            await results.stop()
            app.state.rooms.stop()
            hub.close()

    app = Starlette(
        routes=[
            # first, since each is asked for dozens of times where a page is asked for once
            Mount("/static/fonts", HeldFiles(directory=fonts_dir())),
            Mount("/static", HeldFiles(packages=_STATIC)),
            Route("/", choose.choose),
            *(_THIS_MACHINE_ALONE if lan is None else NETWORK_ROUTES),
            Route("/join", join.join_page),
            Route("/join", join.join, methods=["POST"]),
            Route("/leave", join.leave, methods=["POST"]),
            Route("/time", _time),
            Route("/health", health),
            Route("/sessions", choose.plan, methods=["POST"]),
            Route("/people", who_is_here.people),
            Route("/day", day_pages.day),
            Route("/day", day_pages.make, methods=["POST"]),
            Route("/bookings/{booking}", day_pages.change, methods=["POST"]),
            Route("/teams", day_pages.drop, methods=["POST"]),
            Route("/put-away", put_away_pages.away),
            Route("/s/{session}/again", again.again, methods=["POST"]),
            Route("/s/{session}/put-away", put_away_pages.ask),
            Route("/s/{session}/put-away", put_away_pages.put_away, methods=["POST"]),
            Route("/s/{session}/bring-back", put_away_pages.bring_back, methods=["POST"]),
            Route("/s/{session}/prebrief", choose.prebrief),
            Route("/s/{session}/start", choose.start, methods=["POST"]),
            Route("/s/{session}", session_pages.console),
            Route("/s/{session}/stream", streaming(session_pages.stream)),
            Route("/s/{session}/events", session_pages.events, methods=["POST"]),
            Route("/s/{session}/qr.svg", session_pages.qr),
            Route("/s/{session}/review", session_pages.review),
            Route("/s/{session}/review.json", session_pages.review_json),
            Route("/s/{session}/debrief", session_pages.debrief),
            Route("/s/{session}/debrief.pdf", session_pages.debrief_pdf),
            Route("/s/{session}/debrief/what-if", session_pages.what_if),
            Route("/s/{session}/log", session_pages.log),
            Route("/s/{session}/return", session_pages.return_cot),
            Route("/s/{session}/return", session_pages.cot_returned, methods=["POST"]),
            Route("/d/{code}", join.bedside),
            Route("/d/{code}/stream", streaming(join.bedside_stream)),
            *ROOM_ROUTES,
            *REHEARSAL_ROUTES,
            *ROUTES,
            *PRACTICE_ROUTES,
        ],
        middleware=[
            Middleware(Guard, hosts=hosts, vouched_for=lan is not None and lan.vouched_for)
        ],
        exception_handlers={
            RefusalError: _refused,
            BodyTooLargeError: _too_large,
            HTTPException: _http,
            StoreError: _not_kept,
            Exception: _failed,
        },
        lifespan=lifespan,
    )
    keys = Keys(data, network=lan is not None)
    rooms = Rooms(hub, debriefs, keys)
    app.state.rooms = rooms
    app.state.web = AppState(
        store=hub.store,
        clock=hub.clock,
        shelf=hub.shelf,
        sessions=hub,
        results=results,
        debriefs=debriefs,
        keys=keys,
        link=link,
        coordinating=coordinating,
        tickets=TraineeCodes(),
        guesses=Guesses(),
        strangers=Guesses(most=30),
        passwords=passwords or Passwords(),
        lan=lan,
        templates=templates(*_TEMPLATES),
        address=address,
    )
    app.state.practice_checks = Codes(data)
    app.state.desk = DeskState(hub, results, StreamLimits(), rooms.by_wall)
    app.state.coordinator = CoordinatorState(reports, Pictures())
    return app


def _log_of(hub: Hub, session: str) -> Sequence[Event]:
    """Return a session's log; nothing where it is not here any more, or not as it was written."""
    try:
        return hub.store.events(session)
    except StoreError:
        return ()


async def _time(request: Request) -> Response:
    now_ms = state_of(request).clock.now_ms()
    return Response(orjson.dumps({"now_ms": now_ms}), media_type="application/json")


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, RefusalError)
    if _wants_json(request):
        return _json_words(error.status, f"{error.title}. {' '.join(error.words)}")
    return message(request, error.status, error.title, *error.words)


async def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = "There is no such page." if error.status_code == 404 else str(error.detail)
    return message(request, error.status_code, "Not found", words)


async def _not_kept(request: Request, error: Exception) -> Response:
    return message(request, 503, "Not kept", str(error))


async def _too_large(request: Request, error: Exception) -> Response:
    words = f"That is more than {BODY_BYTES // 1024} kB, the most that is taken at once."
    return PlainTextResponse(words, 413)


async def _failed(request: Request, error: Exception) -> Response:
    return PlainTextResponse(
        "Something went wrong inside the program. What was recorded is kept; load the page again.",
        500,
    )


def _wants_json(request: Request) -> bool:
    return request.headers.get("content-type", "").startswith("application/json")


def _json_words(status: int, words: str) -> Response:
    return Response(orjson.dumps({"words": words}), status, media_type="application/json")
