"""The addresses of the cohort's pages. Who may open which stands in ``doors``."""

from __future__ import annotations

from starlette.routing import Route

from simengine.console.cohort import (
    access_pages,
    handing,
    home,
    matrix,
    outcomes,
    own_debriefs,
    person,
    roster_pages,
    threats,
)

ROUTES = (
    Route("/cohort", home.home),
    Route("/cohort/roster", roster_pages.form),
    Route("/cohort/roster", roster_pages.send, methods=["POST"]),
    Route("/cohort/matrix", matrix.matrix),
    Route("/cohort/code", handing.form),
    Route("/cohort/code", handing.make, methods=["POST"]),
    Route("/cohort/outcomes", outcomes.outcomes),
    Route("/cohort/outcomes/{session}", outcomes.outcome),
    Route("/cohort/outcomes/{session}", outcomes.change, methods=["POST"]),
    Route("/cohort/threats", threats.threats),
    Route("/cohort/threats", threats.add, methods=["POST"]),
    Route("/cohort/threats/{id}", threats.change, methods=["POST"]),
    Route("/cohort/access", access_pages.access),
    Route("/cohort/people/{code}", person.person),
    Route("/cohort/people/{code}/trend.svg", person.trend),
    Route("/cohort/people/{code}/debrief/{session}.pdf", own_debriefs.as_pdf),
    Route("/cohort/people/{code}/debrief/{session}", own_debriefs.as_page),
)
