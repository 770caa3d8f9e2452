"""The addresses of the debriefing room."""

from __future__ import annotations

from starlette.routing import Route

from simengine.desk.streams import streaming
from simengine.room import room_pages

ROUTES = (
    Route("/s/{session}/room", room_pages.room),
    Route("/s/{session}/room/stream", streaming(room_pages.stream)),
    Route("/s/{session}/room/show", room_pages.show, methods=["POST"]),
    Route("/s/{session}/room/words", room_pages.write, methods=["POST"]),
    Route("/s/{session}/room/end", room_pages.end, methods=["POST"]),
    Route("/s/{session}/room/qr.svg", room_pages.qr),
    Route("/s/{session}/retry", room_pages.retry, methods=["POST"]),
    Route("/wall/{code}", room_pages.wall),
    Route("/wall/{code}/stream", streaming(room_pages.wall_stream)),
)
