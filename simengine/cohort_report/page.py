"""The cohort report as one typed page: every text and number on it, already worded.

Rules of this file:

- Plain frozen data and nothing else: the web page and the PDF are drawn from it, so that they can't
  differ in what they say.
- The first page answers four questions, each in words and with one figure.
- Every ``str`` is text that a person reads, apart from ``lang`` and the ``picture`` fields.
"""

from __future__ import annotations

from dataclasses import dataclass

from simengine.debrief.page import Fact, Listing, Picture, Table


@dataclass(frozen=True, slots=True)
class Answer:
    """A question of the first page: the answer in a line, what it rests on, and a figure."""

    question: str
    headline: str
    sentences: tuple[str, ...]
    picture: Picture | None


@dataclass(frozen=True, slots=True)
class Section:
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
    sections: tuple[Section, ...]
    method: Listing
    facts: tuple[Fact, ...]
