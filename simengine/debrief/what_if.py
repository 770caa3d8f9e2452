"""What would have come of it: an act that was late, or a setting that was off, as care asks for it.

Rules of this file:

- Each of the things to work on that is about time or a setting is run again by the same engine
  with that one act at the asked time or value (``run_again``); the costliest come first, without
  being asked for. Any other is run when somebody asks (``answer_to``).
- What is told is what the other course came to sooner, or was spared: a state, and the highest
  level of the first curve at which the guide asks something, passed for good. Nothing is told where
  the same entries do not give the same session to the last digit, where the other course can't be
  followed, or where it comes to nothing sooner; whoever asks is told just that.
- It is told of this scenario, never of a real baby.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf
from urllib.parse import urlencode

from simengine.debrief.as_asked import as_asked, done_as_asked
from simengine.debrief.asked_entries import AsAsked
from simengine.debrief.asked_words import told_at
from simengine.debrief.debrief_sentences import say
from simengine.debrief.interest import curves_by_interest, thresholds_of
from simengine.debrief.run_again import is_same_course, run_again
from simengine.quantities import Range, format_duration, format_quantity
from simengine.quantities.formatting import capitalised
from simengine.report.blocks import Link
from simengine.scenario.conditions import Observed
from simengine.scenario.key import Item, Windowed
from simengine.scoring import score
from simengine.scoring.card import ItemScore, ScoreCard
from simengine.session.account import PROGRAM
from simengine.session.record import Session
from simengine.session.timeline import timeline_of
from simengine.session.truth import truth

MOST = 3
_TRIED = 6
"""How many of the costliest are run again at most: it is asked for by a touch."""
_LEAST_MS = 1_000
"""A gain that is told."""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """An item's act as asked (``what``), in words what came of it, and the other course."""

    item: str
    what: str
    words: str
    other: Session


@dataclass(frozen=True, slots=True)
class Answer:
    """What would have come of it, in ``words``, for whoever asks.

    ``other``: the other course, ``None`` where it can't be followed.
    """

    wanted: AsAsked
    words: str
    other: Session | None


@dataclass(frozen=True, slots=True)
class Gain:
    """What the other course came to: ``state`` of the session, entered or passed by at ``now_ms``.

    ``then_ms``: when the other course entered it; ``None`` where it was spared it.
    """

    state: str
    now_ms: int
    then_ms: int | None


def what_ifs(session: Session, card: ScoreCard, most: int = MOST) -> tuple[WhatIf, ...]:
    """Return what would have come of the costliest things to work on, ``most`` at most.

    Of what was done: what was not done at all is worked out when somebody asks (``answer_to``).
    """
    items = {item.id: item for item in session.scenario.key}
    lost = [
        (-marked.weight * (1 - marked.credit), number, marked)
        for number, marked in enumerate(card.items)
        if marked.applied and marked.credit is not None and marked.credit < 1
    ]
    base: Session | None = None
    out: list[WhatIf] = []
    tried = 0
    for _, _, marked in sorted(lost, key=lambda loss: loss[:2]):
        item = items[marked.id]
        if len(out) == most or tried == _TRIED or not isinstance(item, Windowed):
            continue
        wanted = done_as_asked(session, item, marked)
        if wanted is None:
            continue
        if base is None:
            base = run_again(session)
            if base is None or not is_same_course(session, base):
                return ()
        tried += 1
        other = run_again(session, *wanted.changed)
        words = _told(session, other, wanted.what) if other is not None else ""
        # Two items may ask for the same act.
        if words and other is not None and words not in (earlier.words for earlier in out):
            out.append(WhatIf(marked.id, wanted.what, words, other))
    return tuple(out)


def asks_of(
    session: Session, scores: Iterable[ItemScore], ask_at: str, *, personal: bool
) -> dict[str, Link]:
    """Return where "what if?" can be asked of each item about time or a setting that was not met.

    By the item's id. ``ask_at``: the address that answers; ``personal``: one person asks.
    """
    items = {item.id: item for item in (*session.scenario.key, *session.scenario.never)}
    out = {}
    for marked in scores:
        wanted = as_asked(session, items[marked.id], marked)
        if wanted is not None:
            address = f"{ask_at}?{urlencode({'item': marked.id})}"
            out[marked.id] = Link(capitalised(question(wanted, personal=personal)), address)
    return out


def one_person_asks(session: Session, trainee: str | None) -> bool:
    """Return whether one person asks: of their own items, or of what was played alone.

    The program confirms no record but that of a rehearsal with nobody else in it.
    """
    alone = any(event.kind == "confirmed" and event.by == PROGRAM for event in session.events)
    return bool(trainee) or alone


def question(wanted: AsAsked, *, personal: bool) -> str:
    """Return the question that is offered, of one person or of the team, as after a colon."""
    return say("ask_personal" if personal else "ask_team", asked=wanted.question)


def answer_to(session: Session, item: ItemScore) -> Answer | None:
    """Return what would have come of an item as care asks it; ``None`` where nothing is offered.

    It is told only where the item would have been met better by it: else what was changed is not
    what care asks, and it can't be followed.
    """
    wanted = as_asked(session, _item(session, item.id), item)
    if wanted is None:
        return None
    if wanted.ended:
        return Answer(wanted, say("what_if_ended"), None)
    base = run_again(session) if wanted.changed else None
    if base is None or not is_same_course(session, base):
        return Answer(wanted, say("what_if_not_known"), None)
    other = run_again(session, *wanted.changed)
    if other is None:
        what = capitalised(wanted.what)
        return Answer(wanted, say("what_if_not_followed", what=what), None)
    if not _is_better(item, other):
        return Answer(wanted, say("what_if_not_better"), None)
    words = _told(session, other, wanted.what)
    return Answer(wanted, words or _no_gain(session, item, other, wanted.what), other)


def _item(session: Session, id_: str) -> Item:
    scenario = session.scenario
    return next(item for item in (*scenario.key, *scenario.never) if item.id == id_)


def _no_gain(session: Session, item: ItemScore, other: Session, what: str) -> str:
    """Tell that the other course came to nothing sooner; a harm of which the model knows nothing
    is told as that.
    """
    if item.verdict == "done in error":
        return say("what_if_harm", what=what)
    if is_same_course(session, other):
        return say("what_if_same", what=what)
    return say("what_if_no_sooner", what=what)


def _is_better(item: ItemScore, other: Session) -> bool:
    """Whether an item was met better in the other course; what is not advised came less often."""
    card = score(other, redraws=0)
    marked = next((then for then in (*card.items, *card.unsafe) if then.id == item.id), None)
    if item.verdict == "done in error":
        return marked is None or len(marked.evidence) < len(item.evidence)
    return marked is not None and (marked.credit or 0.0) > (item.credit or 0.0)


def _told(session: Session, other: Session, words: str) -> str:
    """Tell what the other course came to; empty where that is nothing."""
    gain = gain_of(session, other)
    passed = _passed(session, other)
    if gain is None and passed is None:
        return ""
    more = ""
    if passed is not None:
        noun, level, now, then = passed
        more = say(
            "what_if_passed",
            noun=noun,
            level=level,
            then=told_at(other, then),
            now=told_at(session, now),
        )
    if gain is None:
        return say("what_if_only", what=words, more=more)
    title = session.scenario.states[gain.state].title
    and_more = say("what_if_and", more=more) if more else ""
    if gain.then_ms is None:
        return say("what_if_spared", what=words, title=title, more=and_more)
    return say(
        "what_if_sooner",
        what=words,
        title=title,
        sooner=_apart(session, gain.now_ms, gain.then_ms),
        then=told_at(other, gain.then_ms),
        now=told_at(session, gain.now_ms),
        more=and_more,
    )


def gain_of(session: Session, other: Session) -> Gain | None:
    """Return the first state that the other course was spared, or came to sooner."""
    place = 0
    for stay in session.stays:
        state = session.scenario.states[stay.state]
        number = next(
            (n for n in range(place, len(other.stays)) if other.stays[n].state == stay.state), None
        )
        if number is None:
            spared = state.trend == "deteriorating"
            return Gain(stay.state, stay.entry_ms, None) if spared else None
        place = number + 1
        then = other.stays[number].entry_ms
        if stay.entry_ms - then >= _LEAST_MS and state.trend in ("improving", "stable"):
            return Gain(stay.state, stay.entry_ms, then)
    return None


def _passed(session: Session, other: Session) -> tuple[str, str, int, int] | None:
    """Return what the other course passed sooner, for good: noun, level and both instants."""
    order = list(session.scenario.vocabulary.observations)
    for name in sorted(curves_by_interest(session), key=order.index)[:1]:
        observation = session.scenario.vocabulary.observations[name]
        for level in sorted(thresholds_of(session.scenario, name), reverse=True):
            now, then = (_for_good(each, name, level) for each in (session, other))
            if now is not None and then is not None and now - then >= _LEAST_MS:
                words = format_quantity(level, observation.unit or "")
                return observation.noun, words, now, then
    return None


def _for_good(session: Session, name: str, level: float) -> int | None:
    """Return from when on a curve was at a level or above to the end, having been below it."""
    held = truth(Observed(name, Range(level, inf)), timeline_of(session), 0, session.end_ms)
    if held and held[-1][1] >= session.end_ms and held[-1][0] > session.stays[0].entry_ms:
        return held[-1][0]
    return None


def _apart(session: Session, now_ms: int, then_ms: int) -> str:
    """Tell how far apart two instants are as a clock shows them."""
    zero = session.record.clock_ms or 0
    return format_duration(((now_ms - zero) // 1000 - (then_ms - zero) // 1000) * 1000)
