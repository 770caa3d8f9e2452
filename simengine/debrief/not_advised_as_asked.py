"""What was not advised, or is unsafe in any baby, as care asks for it: entries, and their words.

Rules of this file:

- A setting beyond its bound is put to what is advised that is nearest: what the protocol has for
  it, else the bound itself. It is put right where it was set; where it was wrong only by what the
  baby showed (too much oxygen), from when that was seen.
- An amount beyond what the protocol has for its route is the most that it has.
- What was begun too soon is begun once nothing of the guide speaks against it, if that came about.
- All else has no other course: how long more, or what instead, nobody can name.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf

from simengine.debrief.asked_entries import AsAsked, nearest, reading_of, retold, route_of
from simengine.debrief.asked_words import setting_at, told_at
from simengine.debrief.debrief_sentences import say
from simengine.debrief.kept_as_asked import set_right
from simengine.debrief.run_again import Changed
from simengine.quantities import Range
from simengine.quantities.formatting import value_words
from simengine.scenario.conditions import All, AnyOf, Condition, Not, Observed, Read, SettingIs
from simengine.scenario.key import AskedAction, Avoid, GivenDose
from simengine.scenario.read_protocol import value_for
from simengine.scenario.wanted import Value
from simengine.scoring.card import ItemScore
from simengine.session.doses import as_written
from simengine.session.events import Event
from simengine.session.record import Change, Session
from simengine.session.timeline import timeline_of
from simengine.session.truth import truth


def as_advised(session: Session, item: Avoid, score: ItemScore) -> AsAsked | None:
    """Return what was not advised as it is advised; ``None`` where there is no such course."""
    if score.verdict != "done in error":
        return None
    if isinstance(item.what, GivenDose):
        return _dose_as_advised(session, item.what, score)
    for condition in item.conditions:
        bound = next(_bounds(condition), None)
        if bound is not None and _rests_on_the_baby(condition):
            return _turned(session, bound, score)
        if bound is not None:
            return _set_as_advised(session, item, bound, score)
    if item.begun and isinstance(item.what, AskedAction) and item.only_while is not None:
        return _begun_later(session, score)
    return None


def _bounds(condition: Condition) -> Iterator[SettingIs]:
    """Yield the bounds above which a setting is wrong, that a condition asks outright."""
    for part in condition.parts if isinstance(condition, All) else (condition,):
        if isinstance(part, SettingIs) and _has_no_upper_end(part.wanted):
            yield part


def _has_no_upper_end(wanted: object) -> bool:
    return isinstance(wanted, Range) and isinf(wanted.high) and not isinf(wanted.low)


def _rests_on_the_baby(condition: Condition) -> bool:
    """Whether what the baby shows, or is seen to show, is part of it; what must not be is not."""
    match condition:
        case Observed() | Read():
            return True
        case All(parts) | AnyOf(parts):
            return any(_rests_on_the_baby(part) for part in parts)
        case Not():
            return False
    return False


def _advised(session: Session, bound: SettingIs, value: Value | None, at_ms: int) -> Value | None:
    """Return the value that is advised, nearest to what it was."""
    scenario, wanted = session.scenario, bound.wanted
    assert isinstance(wanted, Range)
    if wanted.protocol is None:
        return wanted.low if wanted.low_open else None
    unit = scenario.vocabulary.settings[bound.setting].unit or ""
    has = value_for(scenario.protocol, wanted.protocol, scenario.infant, unit)
    return nearest(session, has, value, at_ms)


def _set_as_advised(
    session: Session, item: Avoid, bound: SettingIs, score: ItemScore
) -> AsAsked | None:
    events = {event.id: event for event in session.effective}
    changed: dict[str, Changed] = {}
    advised: Value | None = None
    for start in _starts(score):
        change = _in_force(session, bound.setting, start)
        if change is None:
            continue
        value = _advised(session, bound, change.value, start)
        if value is None:
            continue
        advised = value
        reading = reading_of(value, session.scenario.vocabulary.settings[bound.setting].unit)
        event = events.get(change.event_id or "")
        entry = set_right(item.id, bound.setting, reading, event, start)
        changed[entry.event_id] = entry
    if not changed:
        return None
    what = setting_at(session, bound.setting, advised)
    return AsAsked(
        tuple(changed.values()), say("what_if_kept", what=what), say("ask_kept", what=what)
    )


def _starts(score: ItemScore) -> list[int]:
    return [part.at_ms for part in score.evidence if part.at_ms is not None]


def _in_force(session: Session, name: str, at_ms: int) -> Change | None:
    changes = [c for c in session.record.changes.get(name, ()) if c.at_ms <= at_ms]
    return changes[-1] if changes else None


def _turned(session: Session, bound: SettingIs, score: ItemScore) -> AsAsked | None:
    """Return a setting turned to its bound as soon as the baby showed that it was too high."""
    starts = _starts(score)
    change = _in_force(session, bound.setting, starts[0]) if starts else None
    value = _advised(session, bound, change.value, starts[0]) if change is not None else None
    if value is None:
        return None
    setting = session.scenario.vocabulary.settings[bound.setting]
    data = {"setting": setting.name, **reading_of(value, setting.unit)}
    entry = Changed(f"as asked {score.id}", starts[0], data, added="set")
    words, when = value_words(value, setting.unit), told_at(session, starts[0])
    return AsAsked(
        (entry,),
        say("what_if_turned", noun=setting.noun, value=words, when=when),
        say("ask_turned", noun=setting.noun, value=words, when=when),
    )


def _dose_as_advised(session: Session, what: GivenDose, score: ItemScore) -> AsAsked | None:
    if what.beyond is None:
        return None
    changed, words = [], ""
    for event in _entries(session, score):
        action, dose = str(event.data["action"]), event.data.get("dose") or {}
        carried = session.scenario.vocabulary.actions[action].dose
        ranges = session.scenario.doses.get(action, {})
        wanted = ranges.get(route_of(dose))
        if carried is None or wanted is None or "amount" not in dose:
            return None
        most = as_written(wanted)[1]
        data = {**event.data, "dose": {**dose, "amount": reading_of(most, carried.unit)}}
        changed.append(Changed(event.id, data=data))
        words = say("what_if_amount", value=value_words(most, carried.unit))
    if not changed:
        return None
    return AsAsked(tuple(changed), words, say("ask_with", values=words))


def _entries(session: Session, score: ItemScore) -> list[Event]:
    ids = {part.event_id for part in score.evidence}
    return [event for event in session.effective if event.id in ids]


def _begun_later(session: Session, score: ItemScore) -> AsAsked | None:
    """Return what was begun too soon, begun as soon as nothing spoke against it."""
    events = _entries(session, score)
    if len(events) != 1:
        return None
    (event,) = events
    action = str(event.data["action"])
    run = next((r for r in session.record.performances if r.event_id == event.id), None)
    if run is None:
        return None
    at_ms = _first_free(session, _against(session, action), run.start_ms)
    stopped = run.stop_ms is not None and run.start_ms < run.stop_ms <= at_ms
    if stopped or not run.start_ms < at_ms < session.end_ms:
        return None
    when = told_at(session, at_ms)
    doing = session.scenario.vocabulary.actions[action].doing
    changed = Changed(event.id, at_ms=at_ms, data=retold(session, event.data, at_ms))
    return AsAsked(
        (changed,), say("what_if_at", what=doing, when=when), say("ask_waited", when=when)
    )


def _against(session: Session, action: str) -> list[Condition]:
    """Return what speaks against beginning an action while it holds."""
    return [
        item.only_while
        for item in (*session.scenario.key, *session.scenario.never)
        if isinstance(item, Avoid)
        and item.begun
        and item.only_while is not None
        and action in item.not_advised
    ]


def _first_free(session: Session, against: list[Condition], start: int) -> int:
    """Return the first instant from ``start`` on at which none of some conditions holds."""
    timeline, at_ms = timeline_of(session), start
    while at_ms < session.end_ms:
        holding = [truth(condition, timeline, at_ms, session.end_ms) for condition in against]
        ends = [held[0][1] for held in holding if held and held[0][0] == at_ms]
        if not ends:
            return at_ms
        at_ms = max(ends)
    return at_ms
