"""The addresses of the cohort's pages. Who may open which stands in ``doors``."""

from __future__ import annotations

from starlette.routing import Route

from simengine.console.cohort import (
    access_pages,
    agreement,
    audit,
    drills,
    erasing,
    figures,
    handing,
    home,
    matrix,
    outcomes,
    own_data,
    own_debriefs,
    person,
    roster_pages,
    settings_pages,
    threats,
)

ROUTES = (
    Route("/cohort", home.home),
    Route("/cohort/roster", roster_pages.form),
    Route("/cohort/roster", roster_pages.send, methods=["POST"]),
    Route("/cohort/matrix", matrix.matrix),
    Route("/cohort/drills", drills.drills),
    Route("/cohort/figures", figures.figures),
    Route("/cohort/figures", figures.make, methods=["POST"]),
    Route("/cohort/figures/{key}/{file}", figures.file),
    Route("/cohort/code", handing.form),
    Route("/cohort/code", handing.make, methods=["POST"]),
    Route("/cohort/outcomes", outcomes.outcomes),
    Route("/cohort/outcomes/{session}", outcomes.outcome),
    Route("/cohort/outcomes/{session}", outcomes.change, methods=["POST"]),
    Route("/cohort/agreement", agreement.agreement),
    Route("/cohort/agreement/{one}/{other}", agreement.side_by_side),
    Route("/cohort/threats", threats.threats),
    Route("/cohort/threats", threats.add, methods=["POST"]),
    Route("/cohort/threats/{id}", threats.change, methods=["POST"]),
    Route("/cohort/access", access_pages.access),
    Route("/cohort/settings", settings_pages.settings),
    Route("/cohort/settings", settings_pages.change, methods=["POST"]),
    Route("/cohort/people/{code}/audit", audit.audit),
    Route("/cohort/people/{code}/data", own_data.data),
    Route("/cohort/people/{code}/erase", erasing.ask),
    Route("/cohort/people/{code}/erase", erasing.do, methods=["POST"]),
    Route("/cohort/people/{code}", person.person),
    Route("/cohort/people/{code}/trend.svg", person.trend),
    Route("/cohort/people/{code}/debrief/{session}.pdf", own_debriefs.as_pdf),
    Route("/cohort/people/{code}/debrief/{session}", own_debriefs.as_page),
)
