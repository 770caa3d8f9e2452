"""What a debrief holds, already worded, and its blocks in reading order.

Rules of this file:

- Plain frozen data: what is said is settled here; ``take_home_of`` and ``whole_of`` only lay it
  out.
- To take home are two pages: the learners' own account, the story, what went well; then the
  picture, what to work on, and one thing to do differently. No score is on them.
- The whole is the same with the picture in full, then every item with its evidence, and the scores.
- Every ``str`` is text that a person reads, apart from ``lang``, ``shape`` and ``picture`` fields.
- "What if?" is asked of a server (``ask``): the page that it answers with leads there, and no file.
- An empty tuple or ``None`` means that the part is left out, with its heading.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from simengine.debrief.debrief_sentences import say
from simengine.report.blocks import (
    Block,
    Bullets,
    Fact,
    Facts,
    Group,
    Heading,
    Link,
    Listing,
    Paragraph,
    Picture,
    Question,
    Report,
    Section,
    Sides,
    Sign,
    Signature,
    Signs,
    Table,
)


@dataclass(frozen=True, slots=True)
class Account:
    """Room for the team's own words, before any figure."""

    title: str
    lead: str
    questions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Point:
    """One thing that went well or is worth working on: what, the evidence, why it matters.

    ``item``: the id of its item, which nobody reads. ``what_if``: what would have come of it in
    time; ``ask``: where that can be asked.
    """

    item: str
    title: str
    evidence: str
    why: str
    notes: tuple[str, ...] = ()
    what_if: str = ""
    ask: Link | None = None


@dataclass(frozen=True, slots=True)
class Points:
    """Up to three points under a heading; ``nothing`` is said where there are none.

    ``note``: a line that follows them. ``ask``: where "what if?" can be asked of any other step.
    """

    title: str
    points: tuple[Point, ...]
    nothing: str = ""
    note: str = ""
    ask: Link | None = None


@dataclass(frozen=True, slots=True)
class ItemBlock:
    """One item of the marking guide.

    ``time`` and ``settings`` are the two parts of the credit, each in words; ``recorded`` has one
    line for each occasion; ``compared`` one for each setting as read beside what was asked.
    ``ask``: where "what if?" can be asked of it.
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
    ask: Link | None = None


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
class Difference:
    """Room for one thing to do differently, in the learners' own words, or what was ``written``."""

    title: str
    lead: str
    question: str
    written: str = ""


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
    account: Account
    story: Listing
    goal: Listing | None
    first_try: Table | None
    views: Listing | None
    difference: Difference
    outcome: Outcome | None
    summary: Listing | None
    well: Points
    work_on: Points
    slips: Listing | None
    key_times: Table | None
    told: Table | None
    equipment: Table | None
    unseen: Listing | None
    brief: Picture
    picture: Picture
    own: Table | None
    marking: Marking
    scores: Table | None
    findings: Listing | None
    trend: Trend | None
    versions: Table
    closing: tuple[str, ...]
    whole_title: str
    whole_where: str


def take_home_of(page: DebriefPage) -> Report:
    """Return the two pages to take home as blocks."""
    first = (
        page.goal,
        _account(page.account),
        _story(page.story),
        page.first_try,
        _points(page.well),
    )
    small = page.trend.picture if page.trend is not None else None
    parts: tuple[Block | None, ...] = (
        *first,
        page.brief,
        _points(page.work_on),
        small,
        _difference(page.difference),
        Paragraph(page.whole_where, "soft"),
    )
    return _report(page, page.title, parts, dense=True)


def whole_of(page: DebriefPage) -> Report:
    """Return the whole debrief as blocks."""
    parts: tuple[Block | None, ...] = (
        page.goal,
        _account(page.account),
        _story(page.story),
        page.first_try,
        _points(page.well),
        _points(page.work_on),
        _difference(page.difference),
        page.picture,
        page.own,
        page.views,
        _outcome(page.outcome),
        page.slips,
        page.key_times,
        page.told,
        page.equipment,
        page.unseen,
        _marking(page.marking),
        page.summary,
        page.scores,
        page.findings,
        _trend(page.trend),
        _about(page),
        page.versions,
    )
    return _report(page, page.whole_title, parts)


def without_asking(page: DebriefPage) -> DebriefPage:
    """Return the page as it is for paper, which leads nowhere."""
    work_on = replace(
        page.work_on,
        points=tuple(replace(point, ask=None) for point in page.work_on.points),
        ask=None,
    )
    groups = tuple(
        replace(group, items=tuple(replace(item, ask=None) for item in group.items))
        for group in page.marking.groups
    )
    return replace(page, work_on=work_on, marking=replace(page.marking, groups=groups))


def _report(
    page: DebriefPage, title: str, parts: tuple[Block | None, ...], *, dense: bool = False
) -> Report:
    return Report(
        lang=page.lang,
        day=page.day,
        banner=page.banner,
        title=title,
        subtitle=page.subtitle,
        caution=page.caution,
        notices=page.notices,
        blocks=tuple(part for part in parts if part is not None),
        dense=dense,
    )


def _account(account: Account) -> Section:
    questions = (Question(question) for question in account.questions)
    return Section(account.title, (Paragraph(account.lead), *questions))


def _story(story: Listing) -> Section:
    return Section(story.title, (Bullets(story.lines),))


def _difference(difference: Difference) -> Section:
    if difference.written:
        text = f"{difference.question} {difference.written}"
        return Section(difference.title, (Paragraph(text, "strong"),))
    return Section(difference.title, (Paragraph(difference.lead), Signature(difference.question)))


def _outcome(outcome: Outcome | None) -> Section | None:
    if outcome is None:
        return None
    blocks: list[Block] = [Paragraph(outcome.text)]
    if outcome.reasons:
        blocks.append(Bullets(outcome.reasons))
    blocks += [Paragraph(line) for line in outcome.standing]
    blocks += [Signature(line) for line in outcome.signatures]
    return Section(outcome.title, tuple(blocks))


def _points(points: Points) -> Section:
    nothing = (Paragraph(points.nothing),) if points.nothing else ()
    note = (Paragraph(points.note, "soft"),) if points.note else ()
    ask = (points.ask,) if points.ask is not None else ()
    items = (_point(point) for point in points.points)
    return Section(points.title, (*nothing, *items, *note, *ask))


def _point(point: Point) -> Group:
    blocks: list[Block] = [Heading(3, point.title)]
    if point.notes:
        blocks.append(Paragraph("; ".join(point.notes), "soft"))
    blocks.append(Paragraph(point.evidence))
    if point.why:
        blocks.append(Paragraph(point.why, "soft"))
    if point.what_if:
        blocks.append(Paragraph(point.what_if))
    if point.ask is not None:
        blocks.append(point.ask)
    return Group(tuple(blocks), "point")


def _marking(part: Marking) -> Section:
    blocks: list[Block] = [Paragraph(part.lead), Paragraph(part.caution, "soft")]
    if part.nothing:
        blocks.append(Paragraph(part.nothing))
    if part.signs:
        blocks.append(Signs(part.signs))
    for group in part.groups:
        blocks.append(Heading(3, group.title))
        blocks += [_item(item) for item in group.items]
    return Section(part.title, tuple(blocks))


def _item(item: ItemBlock) -> Sides:
    left: list[Block] = [
        Heading(4, item.title),
        Signs((item.sign,)),
        Paragraph(f"{item.credit} · {item.weight}"),
    ]
    parts = " · ".join(part for part in (item.time, item.settings) if part)
    if parts:
        left.append(Paragraph(parts, "soft"))
    if item.marks:
        left.append(Paragraph("; ".join(item.marks), "strong"))
    if item.ask is not None:
        left.append(item.ask)
    return Sides(tuple(left), (Facts(tuple(_item_facts(item))), Signature(item.differently)))


def _item_facts(item: ItemBlock) -> Iterator[Fact]:
    yield Fact(say("item_facts_asked"), item.asked)
    for label, lines in (
        (say("item_facts_recorded"), item.recorded),
        (say("item_facts_as_read"), item.compared),
    ):
        if lines:
            yield Fact(label, lines[0], lines[1:])
    if item.why or item.reference:
        yield Fact(say("item_facts_why"), item.why, source=item.reference)


def _trend(trend: Trend | None) -> Section | None:
    if trend is None:
        return None
    return Section(trend.title, (Paragraph(trend.lead), trend.picture, *trend.tables))


def _about(page: DebriefPage) -> Section:
    lines = (*page.protocol, page.readers, *page.closing)
    return Section(say("about_title"), (Facts(page.facts), *map(Paragraph, lines)))
