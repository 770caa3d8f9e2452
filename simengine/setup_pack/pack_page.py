"""What a set-up pack holds, already worded, and its blocks in reading order."""

from __future__ import annotations

from dataclasses import dataclass

from simengine.report.blocks import (
    Block,
    Bullets,
    Checklist,
    Fact,
    Facts,
    Group,
    Heading,
    Listing,
    Paragraph,
    Picture,
    Report,
    Section,
    Signature,
    Table,
)
from simengine.setup_pack.pack_sentences import say


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
    others: Table | None
    cylinders: Table | None
    lay_out: Listing
    steps: Table
    prebrief: Prebrief
    parent: ParentCard | None
    returning: ReturnSheet | None
    diagram: Picture


def report_of(pack: SetupPack) -> Report:
    """Return the pack as blocks; sheets that are handed out are pages of their own."""
    about: tuple[Block, ...] = (Facts(pack.facts), *map(Paragraph, pack.protocol))
    parts: tuple[Block | None, ...] = (
        pack.not_to_start,
        pack.facilitator,
        pack.faults,
        pack.settings,
        Section(pack.lay_out.title, (Paragraph(pack.lay_out.lead), Checklist(pack.lay_out.lines))),
        pack.sums,
        pack.figures,
        pack.cylinders,
        pack.steps,
        pack.others,
        Section(say("about_title"), about),
        _prebrief(pack.prebrief),
        _parent(pack.parent),
        _returning(pack.returning),
        pack.diagram,
    )
    return Report(
        lang=pack.lang,
        day=pack.day,
        banner=pack.banner,
        title=pack.title,
        subtitle=pack.subtitle,
        caution=pack.caution,
        notices=(),
        blocks=tuple(part for part in parts if part is not None),
    )


def _prebrief(part: Prebrief) -> Section:
    blocks: list[Block] = [Paragraph(part.lead, "soft")]
    if part.learners:
        blocks.append(Group((Paragraph(part.learners),), "wash"))
    if part.answers:
        blocks.append(Facts(part.answers))
    blocks.append(part.questions)
    if part.contract:
        blocks += [Heading(3, say("prebrief_contract")), Facts(part.contract)]
    blocks += [part.roles, Paragraph(part.acknowledged), *map(Signature, part.lines)]
    return Section(part.title, tuple(blocks), breaks="before")


def _parent(part: ParentCard | None) -> Section | None:
    if part is None:
        return None
    card = Group((Paragraph(part.lead), Bullets(part.lines), Paragraph(part.after)), "card")
    return Section(part.title, (card,), breaks="before")


def _returning(part: ReturnSheet | None) -> Section | None:
    if part is None:
        return None
    blocks: list[Block] = [Paragraph(part.lead)]
    if part.faults:
        blocks.append(Checklist(part.faults))
    if part.lines:
        blocks.append(Checklist(part.lines, notes=True))
    return Section(part.title, (*blocks, *map(Signature, part.initials)), breaks="before")
