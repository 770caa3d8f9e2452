"""What a cohort report holds, already worded, and its blocks in reading order.

Rules of this file:

- Plain frozen data: what is said is settled here, and ``report_of`` only lays it out.
- The first page answers four questions, each in words and with one figure.
- Every ``str`` is text that a person reads, apart from ``lang`` and the ``picture`` fields.
"""

from __future__ import annotations

from dataclasses import dataclass

from simengine.cohort_report.cohort_sentences import say
from simengine.report.blocks import (
    Block,
    Fact,
    Facts,
    Grid,
    Listing,
    Paragraph,
    Picture,
    Report,
    Section,
    Table,
)


@dataclass(frozen=True, slots=True)
class Answer:
    """A question of the first page: the answer in a line, what it rests on, and a figure."""

    question: str
    headline: str
    sentences: tuple[str, ...]
    picture: Picture | None


@dataclass(frozen=True, slots=True)
class Chapter:
    """What stands behind the answers: words, figures, tables and what to be careful about."""

    title: str
    lead: tuple[str, ...]
    pictures: tuple[Picture, ...] = ()
    tables: tuple[Table, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CohortPage:
    """The whole report, in reading order. ``day``: year, month and day that it speaks of."""

    lang: str
    day: tuple[int, int, int]
    banner: str
    title: str
    subtitle: str
    caution: str
    notices: tuple[str, ...]
    answers: tuple[Answer, ...]
    chapters: tuple[Chapter, ...]
    method: Listing
    facts: tuple[Fact, ...]


def report_of(page: CohortPage) -> Report:
    """Return the report as blocks."""
    return Report(
        lang=page.lang,
        day=page.day,
        banner=page.banner,
        title=page.title,
        subtitle=page.subtitle,
        caution=page.caution,
        notices=page.notices,
        blocks=(
            Grid(tuple(_answer(answer) for answer in page.answers)),
            *(_chapter(chapter) for chapter in page.chapters),
            page.method,
            Section(say("about_title"), (Facts(page.facts),)),
        ),
    )


def _answer(answer: Answer) -> Section:
    blocks: list[Block] = [Paragraph(answer.headline, "strong")]
    blocks += map(Paragraph, answer.sentences)
    if answer.picture is not None:
        blocks.append(answer.picture)
    return Section(answer.question, tuple(blocks))


def _chapter(chapter: Chapter) -> Section:
    notes = (Paragraph(note, "soft") for note in chapter.notes)
    lead = map(Paragraph, chapter.lead)
    return Section(chapter.title, (*lead, *chapter.pictures, *chapter.tables, *notes))
