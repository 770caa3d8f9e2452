"""What the pages about the unit are told. Rules: as in ``contexts``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from simengine.coordinator.contexts import Choice, Sign
from simengine.web.paging import Pages


@dataclass(frozen=True, slots=True)
class ThreatRow:
    """A latent safety threat. ``due_day`` is ISO 8601, for the form; ``closed`` a day or empty."""

    id: str
    sign: Sign
    category: str
    words: str
    unit: str
    opened: str
    owner: str
    due: str
    due_day: str
    closed: str
    closing: str


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a session met and nobody has taken up yet."""

    session: str
    source: str
    words: str
    when: str
    category: str


@dataclass(frozen=True, slots=True)
class ThreatsPage:
    """`cohort/threats.html.j2` at `/cohort/threats`. Forms: POST there (a new one, or a
    proposal taken up), POST `/cohort/threats/ID` (owner and due day, or closing)."""

    here: str
    readers: str
    problems: tuple[str, ...]
    filled: Mapping[str, str]
    categories: tuple[tuple[str, str], ...]
    units: tuple[str, ...]
    filters: tuple[Choice, ...]
    proposals: tuple[Proposal, ...]
    rows: tuple[ThreatRow, ...]
    pages: Pages


@dataclass(frozen=True, slots=True)
class AnswerView:
    """One of the report's questions: its answer, and the address of its figure."""

    question: str
    headline: str
    sentences: tuple[str, ...]
    picture: str
    alt: str


@dataclass(frozen=True, slots=True)
class FiguresPage:
    """`cohort/figures.html.j2` at `/cohort/figures`. Form: POST there with `unit`, `since`,
    `until` (ISO 8601).

    ``state``: ``none``, ``making``, ``made`` or ``failed``; ``when``: when what is shown was made.
    ``report``, ``pdf``: addresses of the whole report, empty before one was made.
    """

    here: str
    readers: str
    problems: tuple[str, ...]
    unit: Choice
    since: str
    until: str
    period: str
    state: str
    published: bool
    when: str
    notices: tuple[str, ...]
    answers: tuple[AnswerView, ...]
    report: str
    pdf: str


@dataclass(frozen=True, slots=True)
class PairRow:
    """Two records of the same session, or one session that two people recorded."""

    when: str
    scenario: str
    words: str
    address: str


@dataclass(frozen=True, slots=True)
class AgreementRow:
    """One measure: its value with unit and interval, and how to read it."""

    measure: str
    value: str
    words: str


@dataclass(frozen=True, slots=True)
class SightingRow:
    """One action as each observer recorded it."""

    action: str
    one: str
    other: str
    apart: str


@dataclass(frozen=True, slots=True)
class AgreementPage:
    """`cohort/agreement.html.j2` at `/cohort/agreement` and, for one pair, `…/ONE/OTHER`."""

    here: str
    readers: str
    title: str
    lead: str
    rows: tuple[AgreementRow, ...]
    few: str
    observers: tuple[str, ...]
    sightings: tuple[SightingRow, ...]
    pairs: tuple[PairRow, ...]
    pages: Pages | None
