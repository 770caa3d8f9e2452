"""The addresses of the practice check."""

from __future__ import annotations

from starlette.routing import Route

from simengine.practice_check import pages

ROUTES = (
    Route("/practice", pages.practice),
    Route("/practice", pages.make, methods=["POST"]),
    Route("/practice/{code}", pages.check),
    Route("/practice/{code}", pages.found, methods=["POST"]),
    Route("/practice/{code}/sheet", pages.sheet_pdf, methods=["POST"]),
    Route("/practice/{code}/qr.svg", pages.qr),
    Route("/practice/{code}/end", pages.end, methods=["POST"]),
)
