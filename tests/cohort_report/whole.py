"""The whole demo cohort and its report, made once for all tests of a run; and parts of it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from matplotlib.figure import Figure

from simengine.cohort_report.build_report import cohort_page
from simengine.cohort_report.cohort_page import CohortPage
from simengine.cohort_report.demo import DemoCohort, demo_cohort
from simengine.cohort_report.demo.material import demo_material
from simengine.cohort_report.material import Material
from simengine.people.roster import Roster
from simengine.report.drawing import svg

KINDS = ("whole", "published", "few", "one session", "nothing", "no roster")


@cache
def cohort() -> DemoCohort:
    """Return all sessions of the invented hospital."""
    return demo_cohort()


@cache
def material(kind: str) -> Material:
    """Return what a report is made of: all of the cohort, or what a young store has."""
    whole = demo_material(cohort(), published=kind == "published")
    if kind == "few":
        return replace(whole, results=whole.results[:8], notices=())
    if kind == "one session":
        return replace(whole, results=whole.results[:1], notices=())
    if kind == "nothing":
        return replace(whole, results=(), roster=Roster(), standing=(), threats=())
    if kind == "no roster":
        return replace(whole, results=whole.results[:60], roster=Roster(), standing=())
    return whole


@cache
def made(kind: str) -> tuple[CohortPage, dict[str, Figure]]:
    """Return a page and its figures."""
    return cohort_page(material(kind))


@cache
def pictures(kind: str) -> dict[str, bytes]:
    """Return a page's figures as SVG files."""
    return {name: svg(figure) for name, figure in made(kind)[1].items()}
