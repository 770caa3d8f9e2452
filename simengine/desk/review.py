"""The record after the end, beside what the marking guide makes of it."""

from __future__ import annotations

import asyncio

from simengine.desk.action_views import actions_of
from simengine.desk.console_view import banner_of, turns_of
from simengine.desk.cot import cot_after_the_end
from simengine.desk.desk_sentences import say
from simengine.desk.equipment_view import settings_of
from simengine.desk.running import Running
from simengine.desk.scene import Scene
from simengine.desk.tape import notes_of, tape_of
from simengine.desk.view import NeededView, ReviewItem, ReviewPage
from simengine.quantities import format_quantity
from simengine.scoring import score
from simengine.scoring.card import ItemScore, ScoreCard
from simengine.scoring.needed import Needed, needed_to_confirm
from simengine.session import put_away
from simengine.session.entry_words import HOW


async def review_of(running: Running) -> ReviewPage:
    """Return the review of a session that has been opened."""
    live = running.live
    assert live is not None
    scene = Scene(live.fold, running.log_ms(), running.opened_at_ms)
    session = scene.session
    entries, settings = tape_of(scene), settings_of(scene)
    # Redrawing the times takes half a second, in which no running session should wait. What it
    # works on is frozen; the live engine may go on meanwhile.
    card, needed = await asyncio.to_thread(lambda: (score(session), needed_to_confirm(session)))
    vocabulary = scene.scenario.vocabulary
    away = put_away.standing(live.events)
    unobserved = session.record.unobserved
    return ReviewPage(
        session=running.plan.session,
        title=scene.scenario.title,
        banner=banner_of(scene.scenario, session.purpose),
        closed=session.closed,
        cot=cot_after_the_end(scene),
        changed=running.changed,
        put_away="" if away is None else str(away.data["reason"]),
        entries=entries,
        items=tuple(_item(item, item.id in unobserved) for item in card.items),
        total=_total(card),
        interval=_interval(card),
        notes=notes_of(scene),
        busy=_busy(card),
        confirmed=session.record.confirmed,
        events=f"/s/{running.plan.session}/events",
        zero_ms=session.record.clock_ms,
        turns=turns_of(session),
        opened_at_ms=running.opened_at_ms,
        needed=tuple(_needed(need) for need in needed),
        acts=actions_of(scene, ()),
        actions=tuple((action.name, action.label) for action in vocabulary.actions.values()),
        settings=settings,
        roles=tuple(scene.scenario.roles.items()),
        ways=tuple((way, words or "done") for way, words in HOW.items()),
    )


def _needed(needed: Needed) -> NeededView:
    return NeededView(
        item=needed.item,
        what=needed.what,
        name=needed.name,
        entry=needed.event_id,
        at_ms=needed.at_ms,
        blocks=needed.blocks,
        words=needed.words,
    )


def _item(item: ItemScore, unobserved: bool) -> ReviewItem:
    return ReviewItem(
        id=item.id,
        title=item.title,
        importance=item.importance,
        verdict=item.verdict,
        sentence=item.sentence,
        unobserved=unobserved,
        evidence=tuple(proof.words for proof in item.evidence),
    )


def _total(card: ScoreCard) -> str:
    if card.total is None:
        return say("total_none")
    marked = sum(1 for item in card.items if item.credit is not None)
    key = "total_few" if 2 * marked < len(card.items) else "total"
    total = format_quantity(100.0 * card.total, "%", 0)
    return say(key, total=total, marked=marked, items=len(card.items))


def _interval(card: ScoreCard) -> str:
    if card.interval is None:
        return ""
    low, high = (format_quantity(100.0 * end, "%", 0) for end in card.interval)
    return "" if low == high else say("total_interval", low=low, high=high)


def _busy(card: ScoreCard) -> tuple[str, ...]:
    """Steps that are marked as missed, and so may only have been unseen."""
    return tuple(item.title for item in card.items if item.applied and item.verdict == "missed")
