"""The debrief as one typed page: every text and number on it, already worded.

Rules of this file:

- Plain frozen data and nothing else: the web page and the PDF are drawn from it, so that they
  can't differ in what they say.
- Every ``str`` is text that a person reads, apart from ``lang``, ``shape`` and ``picture`` fields.
- An empty tuple or ``None`` means that the part is left out, with its heading.
- Markup is never in it: what looks like markup is text.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, TypeVar

from simengine.report.look import Shape


@dataclass(frozen=True, slots=True)
class Sign:
    """A verdict by shape and word."""

    shape: Shape
    word: str


@dataclass(frozen=True, slots=True)
class Fact:
    """A labelled line, such as ``Scenario: …``."""

    label: str
    text: str


@dataclass(frozen=True, slots=True)
class Table:
    """A table with its headings; each row is as long as ``columns``, its first cell a heading."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    lead: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Listing:
    """A heading, a line that leads in, and plain lines."""

    title: str
    lead: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Account:
    """Room for the team's own words, before any figure."""

    title: str
    lead: str
    questions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Point:
    """One thing that went well or is worth working on: what, the evidence, why it matters."""

    title: str
    evidence: str
    why: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Points:
    """Up to three points under a heading; ``nothing`` is said where there are none."""

    title: str
    points: tuple[Point, ...]
    nothing: str = ""


@dataclass(frozen=True, slots=True)
class Picture:
    """A figure: ``picture`` names its drawing, ``alt`` says what it shows."""

    picture: str
    title: str
    sentences: tuple[str, ...]
    alt: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class ItemBlock:
    """One item of the marking guide.

    ``time`` and ``settings`` are the two parts of the credit, each in words; ``recorded`` has one
    line for each occasion; ``compared`` one for each setting as read beside what was asked.
    """

    title: str
    sign: Sign
    credit: str
    weight: str
    marks: tuple[str, ...]
    asked: str
    recorded: tuple[str, ...]
    time: str
    settings: str
    compared: tuple[str, ...]
    why: str
    reference: str
    differently: str


@dataclass(frozen=True, slots=True)
class ItemGroup:
    """The items of one phase."""

    title: str
    items: tuple[ItemBlock, ...]


@dataclass(frozen=True, slots=True)
class Marking:
    """Every item of the marking guide, by phase; ``signs`` says what each verdict means."""

    title: str
    lead: str
    caution: str
    signs: tuple[Sign, ...]
    groups: tuple[ItemGroup, ...]
    nothing: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """A proposed outcome with its reasons; ``signatures`` are lines to be signed by hand."""

    title: str
    text: str
    reasons: tuple[str, ...]
    standing: tuple[str, ...]
    signatures: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Trend:
    """One trainee's sessions side by side."""

    title: str
    lead: str
    picture: Picture
    tables: tuple[Table, ...]


@dataclass(frozen=True, slots=True)
class DebriefPage:
    """The whole page, in reading order. ``day``: year, month and day of the session."""

    lang: str
    day: tuple[int, int, int]
    banner: str
    title: str
    subtitle: str
    facts: tuple[Fact, ...]
    caution: str
    protocol: tuple[str, ...]
    readers: str
    notices: tuple[str, ...]
    account: Account | None
    outcome: Outcome | None
    summary: Listing
    well: Points
    work_on: Points
    slips: Listing | None
    key_times: Table | None
    equipment: Table | None
    unseen: Listing | None
    picture: Picture
    marking: Marking
    scores: Table
    findings: Listing | None
    trend: Trend | None
    versions: Table
    closing: tuple[str, ...]


NOT_TEXT = frozenset({"lang", "shape", "picture"})
"""Names of fields that are not read by a person (where they hold a ``str``)."""

Data = TypeVar("Data")


def map_text(data: Data, change: Callable[[str], str]) -> Data:
    """Return the same data with every text that a person reads put through ``change``."""
    return _mapped(data, change)  # type: ignore[no-any-return]


def _mapped(data: Any, change: Callable[[str], str]) -> Any:
    if isinstance(data, str):
        return change(data)
    if isinstance(data, tuple):
        return tuple(_mapped(part, change) for part in data)
    if is_dataclass(data) and not isinstance(data, type):
        changed = {
            field.name: _mapped(getattr(data, field.name), change)
            for field in fields(data)
            if not (field.name in NOT_TEXT and isinstance(getattr(data, field.name), str))
        }
        return replace(data, **changed)
    return data


def texts(data: object) -> list[str]:
    """Return every text that a person reads, in order."""
    found: list[str] = []

    def keep(text: str) -> str:
        found.append(text)
        return text

    map_text(data, keep)
    return [text for text in found if text]
