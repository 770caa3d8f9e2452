"""What would have come of it: an act that was late, or a setting that was off, as care asks for it.

Rules of this file:

- Each of the things to work on that is about time or a setting is run again by the same engine
  with that one act at the asked time or value (``run_again``); the costliest come first.
- What is told is what the other course came to sooner, or was spared: a state, and the highest
  level of the first curve at which the guide asks something, passed for good. Nothing is told where
  the same entries do not give the same session to the last digit, where the other course can't be
  followed, or where it comes to nothing sooner.
- It is told of this scenario, never of a real baby.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from typing import Any

from simengine.debrief.debrief_sentences import say
from simengine.debrief.interest import curves_by_interest, thresholds_of
from simengine.debrief.run_again import Changed, is_same_course, run_again
from simengine.quantities import Range, format_duration, format_quantity
from simengine.quantities.formatting import instant, value_words
from simengine.scenario.conditions import Observed
from simengine.scenario.key import AskedAction, AskedSetting, Windowed
from simengine.scenario.wanted import OneOf
from simengine.scoring.card import ItemScore, OccasionScore, ScoreCard
from simengine.session.events import Event
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
class Gain:
    """What the other course came to: ``state`` of the session, entered or passed by at ``now_ms``.

    ``then_ms``: when the other course entered it; ``None`` where it was spared it.
    """

    state: str
    now_ms: int
    then_ms: int | None


def what_ifs(session: Session, card: ScoreCard, most: int = MOST) -> tuple[WhatIf, ...]:
    """Return what would have come of the costliest things to work on, ``most`` at most."""
    items = {item.id: item for item in session.scenario.key}
    lost = [
        (-score.weight * (1 - score.credit), number, score)
        for number, score in enumerate(card.items)
        if score.applied and score.credit is not None and score.credit < 1
    ]
    base: Session | None = None
    out: list[WhatIf] = []
    tried = 0
    for _, _, score in sorted(lost, key=lambda one: one[:2]):
        item = items[score.id]
        if len(out) == most or tried == _TRIED or not isinstance(item, Windowed):
            continue
        found = _change(session, item, score)
        if found is None:
            continue
        if base is None:
            base = run_again(session)
            if base is None or not is_same_course(session, base):
                return ()
        tried += 1
        changed, words = found
        other = run_again(session, changed)
        told = _told(session, other, words) if other is not None else ""
        # Two items may ask for the same act.
        if told and other is not None and told not in (earlier.words for earlier in out):
            out.append(WhatIf(score.id, words, told, other))
    return tuple(out)


def _change(session: Session, item: Windowed, score: ItemScore) -> tuple[Changed, str] | None:
    """Return the act as it is asked, and what to call it."""
    events = {event.id: event for event in session.effective}
    for occasion in sorted(score.occasions, key=lambda one: one.credit or 0.0):
        event = next((events[e.event_id] for e in occasion.evidence if e.event_id in events), None)
        if event is None or occasion.done_ms is None:
            continue
        if occasion.verdict in ("late", "too late"):
            due = occasion.opened_ms + item.ideal_ms
            at_ms = session.times.scenario(event.at_ms, event.seq)
            if due < at_ms:
                what = _doing(session, item, event)
                return Changed(event.id, at_ms=due), say(
                    "what_if_by", what=what, when=_at(session, due)
                )
        elif occasion.verdict == "setting off":
            found = _put_right(session, item, occasion, event)
            if found is not None:
                return found
    return None


def _doing(session: Session, item: Windowed, event: Event) -> str:
    vocabulary = session.scenario.vocabulary
    if isinstance(item.asked, AskedAction):
        return vocabulary.actions[str(event.data.get("action"))].doing
    if isinstance(item.asked, AskedSetting):
        setting = vocabulary.settings[item.asked.setting]
        for change in session.record.changes.get(setting.name, ()):
            if change.event_id == event.id:
                value = value_words(change.value, setting.unit)
                return say("what_if_setting", noun=setting.noun, value=value)
        return setting.noun
    return vocabulary.actions[str(event.data["action"])].doing if "action" in event.data else ""


def _put_right(
    session: Session, item: Windowed, occasion: OccasionScore, event: Event
) -> tuple[Changed, str] | None:
    """Return the first setting that was off as it is asked, at the time at which it was given."""
    given: Mapping[str, Any] = event.data.get("settings") or {}
    for part in occasion.settings:
        wanted, setting = (
            item.settings.get(part.name),
            session.scenario.vocabulary.settings.get(part.name),
        )
        if part.credit >= 1 or not part.recorded or setting is None or part.name not in given:
            continue
        if isinstance(wanted, OneOf):
            value: float | str = wanted.words[0]
            reading: dict[str, Any] = {"value": value}
        elif isinstance(wanted, Range):
            change = next(
                (c for c in session.record.changes[part.name] if c.event_id == event.id), None
            )
            if change is None or isinstance(change.value, str):
                continue
            low_off = change.value < wanted.low
            value = wanted.low if low_off else wanted.high
            if wanted.bare and wanted.high < inf:
                value = (wanted.low + wanted.high) / 2
            reading = {"value": value, "unit": setting.unit}
        else:
            continue
        data = {**event.data, "settings": {**given, part.name: reading}}
        words = say("what_if_setting", noun=setting.noun, value=value_words(value, setting.unit))
        return Changed(event.id, data=data), words
    return None


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
            then=_at(other, then),
            now=_at(session, now),
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
        then=_at(other, gain.then_ms),
        now=_at(session, gain.now_ms),
        more=and_more,
    )


def gain_of(session: Session, other: Session) -> Gain | None:
    """Return the first state that the other course was spared, or came to sooner."""
    place = 0
    for stay in session.stays:
        state = session.scenario.states[stay.state]
        found = next(
            (n for n in range(place, len(other.stays)) if other.stays[n].state == stay.state), None
        )
        if found is None:
            spared = state.trend == "deteriorating"
            return Gain(stay.state, stay.entry_ms, None) if spared else None
        place = found + 1
        then = other.stays[found].entry_ms
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
                told = format_quantity(level, observation.unit or "")
                return observation.noun, told, now, then
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


def _at(session: Session, at_ms: int) -> str:
    event = (session.scenario.start.clock or "").replace("_", " ")
    return instant(at_ms - (session.record.clock_ms or 0), event)
