"""From what there is to the page and its figures."""

from __future__ import annotations

from dataclasses import replace

from matplotlib.figure import Figure

from simengine.cohort_report.better import drift_chapter, drifts, getting_better, scenario_chapter
from simengine.cohort_report.kit import kit_chapter
from simengine.cohort_report.material import Material
from simengine.cohort_report.page import Chapter, CohortPage
from simengine.cohort_report.practice import practice_chapter
from simengine.cohort_report.proof import can_prove, proof_chapter
from simengine.cohort_report.times import time_chapter
from simengine.cohort_report.trust import agreement, observers_in_short, trust_chapter
from simengine.cohort_report.weak import done_badly, item_chapter, together
from simengine.cohort_report.who import due_chapter, who_is_due
from simengine.people.small_groups import LEAST_PEOPLE
from simengine.quantities.wording import count, day
from simengine.report.blocks import Fact, Listing, map_text
from simengine.report.printable import clean

BANNER = "Simulation training: figures of a cohort"
ALL_UNITS = "All units"
CAUTION = (
    "For training only. The figures come from simulated sessions and say nothing of real births. "
    "Limits of time are those of the scenarios' marking guides; local guidelines and licensed "
    "practice decide."
)
METHOD = (
    "Intervals are 95 % unless another figure stands beside them. Shares have Wilson's interval, "
    "means Student's, times Greenwood's on the log-log scale.",
    "Fewer than five of anything is called too few to tell. Groups of fewer than five people are "
    "not broken down.",
    "Rehearsals and sessions ended by a safety stop count for nothing here. Two observers' logs of "
    "one session count once.",
    "Many figures were looked at, so that a few stand out by chance alone.",
    "Sessions are taken as independent of one another, though the same people come again: "
    "intervals over sessions are a little too narrow.",
    "People, days and teams were not drawn at random: who comes, and when, may explain a "
    "difference as well as training does.",
)


def cohort_page(material: Material) -> tuple[CohortPage, dict[str, Figure]]:
    """Return the page and the figures that it names."""
    material = _as_told(material)
    observers, pairs, charts = agreement(material), together(material), drifts(material)
    answers, figures = [], {}
    for answer, drawn in (
        who_is_due(material),
        done_badly(material, pairs),
        getting_better(material, charts),
        can_prove(material, observers_in_short(observers)),
    ):
        answers.append(answer)
        figures.update(drawn)
    chapters: list[Chapter] = []
    due = due_chapter(material)
    if due is not None:
        chapters.append(due)
    if material.learning:
        for part in (
            time_chapter(material),
            (item_chapter(material, pairs), {}),
            drift_chapter(material, charts),
            scenario_chapter(material),
            practice_chapter(material),
            kit_chapter(material),
            (trust_chapter(material, observers), {}),
            (proof_chapter(material), {}),
        ):
            if part is not None:
                chapters.append(part[0])
                figures.update(part[1])
    today = material.today
    page = CohortPage(
        lang="en-GB",
        day=(today.year, today.month, today.day),
        banner=BANNER,
        title=f"Cohort report: {material.title}",
        subtitle=(
            f"{day(material.since)} to {day(material.until)} · "
            f"{material.unit or ALL_UNITS.lower()} · "
            f"{count(len(material.once), 'session')}, "
            f"{count(len(material.people), 'person', 'people')}"
        ),
        caution=CAUTION,
        notices=(*_notices(material), *material.notices),
        answers=tuple(answers),
        chapters=tuple(chapters),
        method=Listing("How to read this", "", METHOD),
        facts=_facts(material),
    )
    return map_text(page, lambda text: clean(text.replace(" %", "\u00a0%"))), figures


def _as_told(material: Material) -> Material:
    """Return what may be told: nothing is published of fewer than five people."""
    if not material.published or not 0 < len(material.people) < LEAST_PEOPLE:
        return material
    said = f"Fewer than {LEAST_PEOPLE} people took part, so nothing is published of them."
    return replace(material, results=(), standing=(), notices=(*material.notices, said))


def _notices(material: Material) -> tuple[str, ...]:
    number = len(material.learning)
    if number == 0:
        return ("There is no session in this period that counts, so most of this page is empty.",)
    if number < 30:
        return (f"Few sessions: {number}. Most differences can't be told from chance with so few.",)
    return ()


def _facts(material: Material) -> tuple[Fact, ...]:
    purposes = [
        count(sum(one.purpose == purpose for one in material.once), purpose, purpose)
        for purpose in ("formative", "summative", "rehearsal")
    ]
    programs = sorted({one.program for one in material.once})
    protocols = sorted({one.protocol for one in material.once})
    return (
        Fact("Sessions", ", ".join(purposes)),
        Fact("Units", ", ".join(material.units) or "none was named"),
        Fact(
            "Protocols",
            f"{', '.join(protocols)}: edition, source and signature stand in each debrief."
            if protocols
            else "–",
        ),
        Fact("Program", "simengine " + (", ".join(programs) or "–")),
        Fact(
            "Readers",
            "For publication: no codes, and small groups are hidden."
            if material.published
            else "For the coordinator: it holds trainee codes. Ask for the published form for "
            "anybody else.",
        ),
    )
