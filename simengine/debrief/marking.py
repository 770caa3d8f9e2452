"""Every item of the marking guide as a block of words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from simengine.debrief.debrief_page import ItemBlock, ItemGroup, Marking
from simengine.debrief.debrief_sentences import say
from simengine.debrief.words import at, signs_of, without_entry
from simengine.quantities.formatting import clock, percent
from simengine.report.blocks import Link, Sign
from simengine.scenario.key import Item
from simengine.scoring.card import Compared, ItemScore, OccasionScore, Verdict
from simengine.scoring.kinds import item_asked
from simengine.session.record import Session

LEAD = say("marking_lead")
DIFFERENTLY = say("seen_differently")
_NEGATIVE = frozenset({"missed", "not recorded", "attempted"})


def marking(
    session: Session,
    scores: list[tuple[ItemScore, tuple[str, ...]]],
    trainee: str | None,
    asks: Mapping[str, Link] = MappingProxyType({}),
) -> Marking:
    """Return the marking guide's items by phase; each score comes with marks of its own.

    For a ``trainee`` what rests on there being no entry is not counted. ``asks``: where "what if?"
    can be asked, by the item's id.
    """
    signs = signs_of(trainee)
    scenario = session.scenario
    items = {item.id: item for item in scenario.key}
    groups = []
    for phase, label in scenario.vocabulary.phases.items():
        blocks = tuple(
            replace(_block(session, items[score.id], score, marks, trainee), ask=asks.get(score.id))
            for score, marks in scores
            if score.phase == phase
        )
        if blocks:
            groups.append(ItemGroup(label, blocks))
    used = {signs[score.verdict] for score, _ in scores}
    return Marking(
        title=say("marking_title"),
        lead=LEAD,
        caution=caution(session),
        signs=tuple(sign for sign in dict.fromkeys(signs.values()) if sign in used),
        groups=tuple(groups),
        nothing="" if groups else say("marking_nothing"),
    )


def caution(session: Session) -> str:
    """Return the line that stands beside doses, pressures and time limits."""
    protocol = session.scenario.protocol
    state = "signed" if protocol.signed_by else "unsigned"
    return say(
        "caution",
        caution=session.scenario.vocabulary.caution.rstrip("."),
        title=protocol.title,
        edition=protocol.edition,
        state=state,
    )


def own_marks(session: Session, score: ItemScore) -> tuple[str, ...]:
    """Return what has to stand beside a verdict: how sure it is, and whether it had help."""
    marks = []
    if score.too_close:
        marks.append(say("mark_too_close"))
    if score.with_cue:
        marks.append(say("mark_with_cue"))
    if score.verdict in _NEGATIVE and not session.record.confirmed:
        marks.append(say("mark_provisional"))
    if any(part.tenfold for occasion in score.occasions for part in occasion.settings):
        marks.append(say("mark_tenfold"))
    return tuple(marks)


def _block(
    session: Session,
    item: Item,
    score: ItemScore,
    marks: tuple[str, ...],
    trainee: str | None,
) -> ItemBlock:
    scenario = session.scenario
    signs = signs_of(trainee)
    counts = score.credit is not None and (
        trainee is None or not without_entry(score.kind, score.verdict)
    )
    reference = scenario.references.get(score.reference or "", score.reference or "")
    counted = [occasion for occasion in score.occasions if occasion.credit is not None]
    return ItemBlock(
        title=score.title,
        sign=signs[score.verdict],
        credit=say("item_credit", credit=percent(score.credit))
        if counts
        else say("item_not_counted"),
        weight=score.importance,
        marks=(*own_marks(session, score), *marks),
        asked=item_asked(scenario, item),
        recorded=_recorded(session, score, signs, counts=counts),
        time=_time(score, counted) if counts else "",
        settings=_settings(item, counted) if counts else "",
        compared=_compared(session, score.occasions),
        why=score.why,
        reference=reference,
        differently=DIFFERENTLY,
    )


def _time(score: ItemScore, counted: list[OccasionScore]) -> str:
    if score.part_ms is not None and score.whole_ms is not None:
        return say("time_kept", part=clock(score.part_ms), whole=clock(score.whole_ms))
    return _mean(say("time_share"), [occasion.time_credit for occasion in counted])


def _settings(item: Item, counted: list[OccasionScore]) -> str:
    if not counted:
        return ""
    if not (item.settings or item.dose):
        return say("settings_none")
    return _mean(say("settings_share"), [occasion.settings_credit for occasion in counted])


def _mean(name: str, parts: list[float | None]) -> str:
    known = [part for part in parts if part is not None]
    return f"{name} {percent(sum(known) / len(known) if known else 0.0)}"


def _recorded(
    session: Session, score: ItemScore, signs: Mapping[Verdict, Sign], *, counts: bool
) -> tuple[str, ...]:
    lines = [score.sentence] if score.sentence else []
    if len(score.occasions) > 1:
        lines += [
            _occasion(session, occasion, signs, counts=counts) for occasion in score.occasions
        ]
    if not score.occasions:
        lines += [part.words for part in score.evidence if part.words not in lines]
    return tuple(dict.fromkeys(lines))


def _occasion(
    session: Session, occasion: OccasionScore, signs: Mapping[Verdict, Sign], *, counts: bool
) -> str:
    text = say("occasion_asked_from", opened=at(session, occasion.opened_ms))
    if occasion.done_ms is None:
        text += signs[occasion.verdict].word
    else:
        text += f"{at(session, occasion.done_ms)}, {signs[occasion.verdict].word}"
    if counts and occasion.credit is not None:
        text += say("occasion_credit", credit=percent(occasion.credit))
    if occasion.with_cue:
        text += say("occasion_with_cue")
    return f"{text}."


def _compared(session: Session, occasions: tuple[OccasionScore, ...]) -> tuple[str, ...]:
    several = len(occasions) > 1
    return tuple(
        (f"{at(session, occasion.opened_ms)}: " if several else "") + _one_compared(part)
        for occasion in occasions
        for part in occasion.settings
    )


def _one_compared(part: Compared) -> str:
    if not part.recorded:
        return say("compared_not_recorded", label=part.label, asked=part.asked)
    return say(
        "compared", label=part.label, read=part.read, asked=part.asked, credit=percent(part.credit)
    )
