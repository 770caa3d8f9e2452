"""Can I prove it? The fourth answer: what the figures rest on, and what they do not prove."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from simengine.cohort.competence import Competence, competence
from simengine.cohort.evidence import is_evidence, is_few
from simengine.cohort_report.material import Material
from simengine.cohort_report.page import Answer, Chapter
from simengine.cohort_report.picture.bars import Bar, Kind, draw_bars
from simengine.cohort_report.picture.scale import HALF
from simengine.quantities.wording import count, listed
from simengine.report import look
from simengine.report.blocks import Picture, Table

QUESTION = "Can I prove it?"
_COUNTED = (Kind("sessions", look.BLUE),)
DOES_NOT_PROVE = (
    "It does not prove what anybody does for a real baby: these were simulations.",
    "It does not prove that a standard is the right one, only that a panel recorded it.",
    "It says nothing of people who did not take part.",
)


@dataclass(frozen=True, slots=True)
class Evidence:
    """Numbers of sessions, each a part of the one before."""

    held: int
    counted: int
    confirmed: int
    assessed: int
    signed: int


def evidence_of(material: Material) -> Evidence:
    """Return how many sessions there are, and how many carry proof."""
    assessed = [one for one in material.once if is_evidence(one)]
    signed = set(material.signed)
    return Evidence(
        held=len(material.once),
        counted=len(material.learning),
        confirmed=sum(one.confirmed for one in material.learning),
        assessed=len(assessed),
        signed=sum(one.session in signed for one in assessed),
    )


def can_prove(material: Material, observers: str) -> tuple[Answer, dict[str, Figure]]:
    """Return the answer and its figure. ``observers``: how far two observers agree, in words."""
    found = evidence_of(material)
    headline = (
        f"{found.signed} of {count(found.held, 'session')} are proof: assessed, finished, "
        "confirmed by a person, under a recorded standard, with a signed outcome."
    )
    if not found.held:
        return Answer(QUESTION, "There is no session, so there is nothing to prove.", (), None), {}
    scenarios = {one.scenario: one.standard is not None for one in material.learning}
    recorded = sum(scenarios.values())
    sentences = [
        f"{recorded} of {count(len(scenarios), 'scenario')} have a recorded standard. {observers}",
        "What it does not prove: how anybody cares for a real baby.",
    ]
    rows = (
        ("Sessions held", found.held),
        ("without rehearsals and safety stops", found.counted),
        ("of these confirmed by a person", found.confirmed),
        ("of these assessed under a standard", found.assessed),
        ("of these with a signed outcome", found.signed),
    )
    picture = Picture(
        "evidence",
        "From sessions to proof",
        (),
        f"Bars of sessions: {listed([f'{words} {number}' for words, number in rows])}.",
    )
    bars = [Bar(words, (number,), count(number, "session")) for words, number in rows]
    return (
        Answer(QUESTION, headline, tuple(sentences), picture),
        {"evidence": draw_bars(bars, _COUNTED, wide=HALF, legend=False)},
    )


def proof_chapter(material: Material) -> Chapter:
    """Return what people's own attempts say by objective, and what nothing of it proves."""
    found = competence(material.once)
    by_objective: dict[str, list[Competence]] = {}
    for one in found.values():
        by_objective.setdefault(one.objective, []).append(one)
    rows = [
        row
        for name in sorted(by_objective, key=lambda name: by_objective[name][0].title)
        if (row := _objective(by_objective[name], material)) is not None
    ]
    tables: tuple[Table, ...] = ()
    if rows:
        tables = (
            Table(
                "What can be said of people, by objective",
                ("Objective", "People with an attempt", "Measured", "Likely to meet it next time"),
                tuple(rows),
                lead=(
                    "Measured: five attempts of one's own or more, in three different scenarios or "
                    "more. Likely: it is at least 95 % sure that the chance of meeting the "
                    "standard next time is above one half."
                ),
                note="Objectives are the same where their names are, in whatever scenario.",
            ),
        )
    return Chapter(
        "What this proves, and what it does not",
        (
            "Only assessed sessions count here that were finished and confirmed, under a recorded "
            "standard. Formative sessions tell about the unit and never about a person.",
        ),
        tables=tables,
        notes=DOES_NOT_PROVE,
    )


def _objective(some: Sequence[Competence], material: Material) -> tuple[str, ...] | None:
    """Return a row; ``None`` where it is about too few people to be told."""
    people = len(some)
    if is_few(people):
        return None
    told = [one for one in some if one.chance is not None]
    likely = sum(one.chance.low > 0.5 for one in told if one.chance is not None)
    return (some[0].title, str(people), _told(len(told), material), _told(likely, material))


def _told(number: int, material: Material) -> str:
    return "under 5" if material.published and 0 < number < 5 else str(number)
