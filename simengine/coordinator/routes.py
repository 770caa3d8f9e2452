"""The addresses of the cohort's pages. Who may open which stands in ``doors``."""

from __future__ import annotations

from starlette.routing import Route

from simengine.coordinator import (
    access_pages,
    agreement_page,
    audit_page,
    drills,
    erasing,
    figures,
    handing,
    home,
    matrix,
    outcome_pages,
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
    Route("/cohort/outcomes", outcome_pages.outcomes),
    Route("/cohort/outcomes/{session}", outcome_pages.outcome),
    Route("/cohort/outcomes/{session}", outcome_pages.change, methods=["POST"]),
    Route("/cohort/agreement", agreement_page.agreement),
    Route("/cohort/agreement/{one}/{other}", agreement_page.side_by_side),
    Route("/cohort/threats", threats.threats),
    Route("/cohort/threats", threats.add, methods=["POST"]),
    Route("/cohort/threats/{id}", threats.change, methods=["POST"]),
    Route("/cohort/access", access_pages.access),
    Route("/cohort/settings", settings_pages.settings),
    Route("/cohort/settings", settings_pages.change, methods=["POST"]),
    Route("/cohort/people/{code}/audit", audit_page.audit),
    Route("/cohort/people/{code}/data", own_data.data),
    Route("/cohort/people/{code}/erase", erasing.ask),
    Route("/cohort/people/{code}/erase", erasing.do, methods=["POST"]),
    Route("/cohort/people/{code}", person.person),
    Route("/cohort/people/{code}/trend.svg", person.trend),
    Route("/cohort/people/{code}/debrief/{session}.pdf", own_debriefs.as_pdf),
    Route("/cohort/people/{code}/debrief/{session}", own_debriefs.as_page),
)
