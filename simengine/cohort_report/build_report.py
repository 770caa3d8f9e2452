"""From what there is to the page and its figures."""

from __future__ import annotations

from dataclasses import replace

from matplotlib.figure import Figure

from simengine.cohort_report.better import drift_chapter, drifts, getting_better, scenario_chapter
from simengine.cohort_report.cohort_page import Chapter, CohortPage
from simengine.cohort_report.cohort_sentences import say
from simengine.cohort_report.equipment_section import kit_chapter
from simengine.cohort_report.figure_words import SURE_WORDS
from simengine.cohort_report.material import Material
from simengine.cohort_report.practice import practice_chapter
from simengine.cohort_report.proof import can_prove, proof_chapter
from simengine.cohort_report.times import time_chapter
from simengine.cohort_report.trust import agreement, observers_in_short, trust_chapter
from simengine.cohort_report.weak import done_badly, item_chapter, together_failing
from simengine.cohort_report.who import due_chapter, who_is_due
from simengine.people.small_groups import LEAST_PEOPLE
from simengine.quantities.formatting import count, day
from simengine.report.blocks import Fact, Listing, map_text
from simengine.report.printable import clean

BANNER = say("banner")
ALL_UNITS = say("all_units")
CAUTION = say("caution")
METHOD = (
    say("method_intervals_unless_another"),
    say("method_fewer_than_five"),
    say("method_rehearsals_sessions_ended"),
    say("method_claims", sure=SURE_WORDS),
    say("method_many_compared"),
    say("method_sessions_share"),
    say("method_people_days_teams"),
)


def cohort_page(material: Material) -> tuple[CohortPage, dict[str, Figure]]:
    """Return the page and the figures that it names."""
    material = _as_told(material)
    observers, pairs, charts = agreement(material), together_failing(material), drifts(material)
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
        title=say("title", title=material.title),
        subtitle=(
            say(
                "subtitle",
                since=day(material.since),
                until=day(material.until),
                unit=material.unit or ALL_UNITS.lower(),
                sessions=count(len(material.once), "session"),
                people=count(len(material.people), "person", "people"),
            )
        ),
        caution=CAUTION,
        notices=(*_notices(material), *material.notices),
        answers=tuple(answers),
        chapters=tuple(chapters),
        method=Listing(say("method_title"), "", METHOD),
        facts=_facts(material),
    )
    return map_text(page, lambda text: clean(text.replace(" %", "\u00a0%"))), figures


def _as_told(material: Material) -> Material:
    """Return what may be told: nothing is published of fewer than five people."""
    if not material.published or not 0 < len(material.people) < LEAST_PEOPLE:
        return material
    notice = say("as_told_fewer_than_people", least_people=LEAST_PEOPLE)
    return replace(material, results=(), standing=(), notices=(*material.notices, notice))


def _notices(material: Material) -> tuple[str, ...]:
    number = len(material.learning)
    if number == 0:
        return (say("notices_there_no_session"),)
    if number < 30:
        return (say("notices_few_sessions_most", number=number),)
    return ()


def _facts(material: Material) -> tuple[Fact, ...]:
    purposes = [
        count(sum(session.purpose == purpose for session in material.once), purpose, purpose)
        for purpose in ("formative", "summative", "rehearsal")
    ]
    programs = sorted({session.program for session in material.once})
    protocols = sorted({session.protocol for session in material.once})
    return (
        Fact(say("facts_sessions"), ", ".join(purposes)),
        Fact(say("facts_units"), ", ".join(material.units) or say("facts_none_named")),
        Fact(
            say("facts_protocols"),
            say("facts_edition_source_signature", list=", ".join(protocols)) if protocols else "–",
        ),
        Fact(say("facts_program"), "simengine " + (", ".join(programs) or "–")),
        Fact(
            say("facts_readers"),
            say("facts_for_publication_no")
            if material.published
            else say("facts_for_coordinator_holds"),
        ),
    )
