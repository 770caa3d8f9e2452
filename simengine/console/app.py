"""The console's routes, and what stands round them."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from pathlib import Path

import orjson
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from simengine.console import choose, join, record
from simengine.console.cohort.routes import ROUTES
from simengine.console.debriefs import Debriefs
from simengine.console.front import PAGES, Front, RefusalError, front_of, message
from simengine.console.guard import MOST_BYTES, BodyTooLargeError, Guard
from simengine.console.hub import Hub
from simengine.console.pictures import Pictures
from simengine.console.reports import Reports
from simengine.console.results import Results
from simengine.console.security import Guesses, Keys, OneTimeLink, Tickets
from simengine.console.stream_limits import StreamLimits
from simengine.console.streams import streaming
from simengine.resources import fonts_dir
from simengine.store import StoreError
from simengine.store.data_folder import DEBRIEFS


def make_app(
    hub: Hub,
    data: Path,
    *,
    hosts: Iterable[str],
    address: str,
    link: OneTimeLink,
    coordinating: OneTimeLink,
) -> Starlette:
    """Return the console as an ASGI app. It closes ``hub`` when it ends.

    ``data``: the folder for keys and debriefs. ``hosts``: the Host headers by which it is
    reached. ``address``: what a display's link begins with. ``link`` opens the console,
    ``coordinating`` the coordinator's pages.
    """
    debriefs = Debriefs(data / DEBRIEFS, hub.shelf)
    results = Results(hub.store, hub.shelf.folders)
    reports = Reports(data / "reports", hub.store)
    hub.ended = debriefs.begin_at_end
    hub.renewed = results.renew

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
            hub.close()

    app = Starlette(
        routes=[
            Route("/", choose.choose),
            Route("/enter/{token}", join.enter),
            Route("/coordinate/{token}", join.coordinate),
            Route("/join", join.join_page),
            Route("/join", join.join, methods=["POST"]),
            Route("/leave", join.leave, methods=["POST"]),
            Route("/time", _time),
            Route("/sessions", choose.plan, methods=["POST"]),
            Route("/s/{session}/prebrief", choose.prebrief),
            Route("/s/{session}/start", choose.start, methods=["POST"]),
            Route("/s/{session}", record.console),
            Route("/s/{session}/stream", streaming(record.stream)),
            Route("/s/{session}/events", record.events, methods=["POST"]),
            Route("/s/{session}/qr.svg", record.qr),
            Route("/s/{session}/review", record.review),
            Route("/s/{session}/review.json", record.review_json),
            Route("/s/{session}/debrief", record.debrief),
            Route("/s/{session}/debrief.pdf", record.debrief_pdf),
            Route("/s/{session}/log", record.log),
            Route("/s/{session}/return", record.return_cot),
            Route("/s/{session}/return", record.cot_returned, methods=["POST"]),
            Route("/d/{code}", join.bedside),
            Route("/d/{code}/stream", streaming(join.bedside_stream)),
            *ROUTES,
            Mount("/static/fonts", StaticFiles(directory=fonts_dir())),
            Mount("/static", StaticFiles(directory=PAGES / "static")),
        ],
        middleware=[Middleware(Guard, hosts=hosts)],
        exception_handlers={
            RefusalError: _refused,
            BodyTooLargeError: _too_large,
            HTTPException: _http,
            StoreError: _not_kept,
            Exception: _failed,
        },
        lifespan=lifespan,
    )
    app.state.front = Front(
        hub,
        Keys(data),
        link,
        coordinating,
        Tickets(),
        Guesses(),
        StreamLimits(),
        debriefs,
        results,
        reports,
        Pictures(),
        address,
    )
    return app


async def _time(request: Request) -> Response:
    now_ms = front_of(request).hub.clock.now_ms()
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
    words = f"That is more than {MOST_BYTES // 1024} kB, the most that is taken at once."
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
