"""The addresses of rehearsing alone."""

from __future__ import annotations

from starlette.routing import Route

from simengine.desk.streams import streaming
from simengine.rehearsal import after_pages, play_pages

ROUTES = (
    Route("/rehearse", play_pages.rehearse),
    Route("/rehearse", play_pages.begin, methods=["POST"]),
    Route("/rehearse/{session}", play_pages.play),
    Route("/rehearse/{session}/stream", streaming(play_pages.stream)),
    Route("/rehearse/{session}/do", play_pages.do, methods=["POST"]),
    Route("/rehearse/{session}/after", after_pages.after),
    Route("/rehearse/{session}/again", after_pages.again, methods=["POST"]),
    Route("/rehearse/{session}/debrief", after_pages.debrief),
    Route("/rehearse/{session}/debrief.pdf", after_pages.debrief_pdf),
    Route("/rehearse/{session}/debrief/what-if", after_pages.what_if),
)
