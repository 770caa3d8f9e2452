"""The set-up pack as one typed page: every text and number on it, already worded."""

from __future__ import annotations

from dataclasses import dataclass

from simengine.debrief.page import Fact, Listing, Table


@dataclass(frozen=True, slots=True)
class Prebrief:
    """The page that the team gets before the start: nothing on it gives a fault away."""

    title: str
    lead: str
    learners: str
    answers: tuple[Fact, ...]
    questions: Listing
    contract: tuple[Fact, ...]
    roles: Table
    acknowledged: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ParentCard:
    """What whoever plays the parent is given."""

    title: str
    lead: str
    lines: tuple[str, ...]
    after: str


@dataclass(frozen=True, slots=True)
class ReturnSheet:
    """The sheet for returning the cot to service; each line is ticked by hand."""

    title: str
    lead: str
    faults: tuple[str, ...]
    lines: tuple[str, ...]
    initials: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Diagram:
    """The states, drawn; ``picture`` names the drawing."""

    picture: str
    title: str
    lead: str
    alt: str


@dataclass(frozen=True, slots=True)
class SetupPack:
    """The whole pack, in reading order. ``day``: year, month, day on which it was made."""

    lang: str
    day: tuple[int, int, int]
    banner: str
    title: str
    subtitle: str
    caution: str
    facts: tuple[Fact, ...]
    protocol: tuple[str, ...]
    not_to_start: Listing
    facilitator: Listing
    faults: Table | None
    settings: Table
    sums: Table | None
    figures: Table | None
    cylinders: Table | None
    lay_out: Listing
    steps: Table
    prebrief: Prebrief
    parent: ParentCard | None
    returning: ReturnSheet | None
    diagram: Diagram
