"""Can I prove it? The fourth answer: what the figures rest on, and what they do not prove."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from simengine.cohort.competence import Competence, competence
from simengine.cohort.evidence import is_evidence
from simengine.cohort.too_few import is_too_few
from simengine.cohort_report.cohort_page import Answer, Chapter
from simengine.cohort_report.cohort_sentences import say
from simengine.cohort_report.material import Material
from simengine.cohort_report.picture.bars import Bar, Kind, draw_bars
from simengine.cohort_report.picture.scale import HALF
from simengine.quantities.formatting import count, listed
from simengine.report import look
from simengine.report.blocks import Picture, Table

QUESTION = say("question_proof")
_COUNTED = (Kind("sessions", look.BLUE),)
DOES_NOT_PROVE = (
    say("does_not_prove_real"),
    say("does_not_prove_standard"),
    say("does_not_prove_others"),
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
    assessed = [session for session in material.once if is_evidence(session)]
    signed = set(material.signed)
    return Evidence(
        held=len(material.once),
        counted=len(material.learning),
        confirmed=sum(session.confirmed for session in material.learning),
        assessed=len(assessed),
        signed=sum(session.session in signed for session in assessed),
    )


def can_prove(material: Material, observers: str) -> tuple[Answer, dict[str, Figure]]:
    """Return the answer and its figure. ``observers``: how far two observers agree, in words."""
    evidence = evidence_of(material)
    headline = say(
        "can_prove_proof_assessed_finished",
        signed=evidence.signed,
        sessions=count(evidence.held, "session"),
    )
    if not evidence.held:
        return Answer(QUESTION, say("can_prove_there_no_session"), (), None), {}
    scenarios = {session.scenario: session.standard is not None for session in material.learning}
    recorded = sum(scenarios.values())
    sentences = [
        say(
            "can_prove_have_recorded_standard",
            recorded=recorded,
            scenarios=count(len(scenarios), "scenario"),
            observers=observers,
        ),
        say("can_prove_what_does_not"),
    ]
    rows = (
        (say("can_prove_sessions_held"), evidence.held),
        (say("can_prove_without_rehearsals_safety"), evidence.counted),
        (say("can_prove_these_confirmed_by"), evidence.confirmed),
        (say("can_prove_these_assessed_under"), evidence.assessed),
        (say("can_prove_these_with_signed"), evidence.signed),
    )
    picture = Picture(
        "evidence",
        say("can_prove_from_sessions_proof"),
        (),
        say(
            "can_prove_bars_sessions", list=listed([f"{words} {number}" for words, number in rows])
        ),
    )
    bars = [Bar(words, (number,), count(number, "session")) for words, number in rows]
    return (
        Answer(QUESTION, headline, tuple(sentences), picture),
        {"evidence": draw_bars(bars, _COUNTED, wide=HALF, legend=False)},
    )


def proof_chapter(material: Material) -> Chapter:
    """Return what people's own attempts say by objective, and what nothing of it proves."""
    competences = competence(material.once)
    by_objective: dict[str, list[Competence]] = {}
    for record in competences.values():
        by_objective.setdefault(record.objective, []).append(record)
    rows = [
        row
        for name in sorted(by_objective, key=lambda name: by_objective[name][0].title)
        if (row := _objective(by_objective[name], material)) is not None
    ]
    tables: tuple[Table, ...] = ()
    if rows:
        tables = (
            Table(
                say("proof_chapter_what_can_be"),
                (
                    say("proof_chapter_objective"),
                    say("proof_chapter_people_with_attempt"),
                    say("proof_chapter_measured"),
                    say("proof_chapter_likely_meet_next"),
                ),
                tuple(rows),
                lead=(say("proof_chapter_lead")),
                note=say("proof_chapter_note"),
            ),
        )
    return Chapter(
        say("proof_chapter_what_this_proves"),
        (say("proof_chapter_only_assessed_sessions"),),
        tables=tables,
        notes=DOES_NOT_PROVE,
    )


def _objective(some: Sequence[Competence], material: Material) -> tuple[str, ...] | None:
    """Return a row; ``None`` where it is about too few people to be told."""
    people = len(some)
    if is_too_few(people):
        return None
    judged = [record for record in some if record.chance is not None]
    likely = sum(
        record.chance.verdict == "likely" for record in judged if record.chance is not None
    )
    return (some[0].title, str(people), _told(len(judged), material), _told(likely, material))


def _told(number: int, material: Material) -> str:
    return say("told_under") if material.published and 0 < number < 5 else str(number)
