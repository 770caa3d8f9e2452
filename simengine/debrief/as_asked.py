"""An item of the marking guide that was not met, as care asks for it: entries, and their words.

Rules of this file:

- Only what is about time or a setting has another course: an act in a window, one that is asked
  again and again, a setting or an act that is to be kept, and some of what is not advised. What the
  record does not say, what was said and not done, and an order have none.
- The act that was done is put at the asked time; a setting or a dose that was off is put right
  where the time was met, or where it was so far off that the time alone would earn nothing.
- Where none was done in time, a later one is brought forward; without one it is added.
- A fault that was asked to be found is found, no more: what put it right stays at its own time.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from simengine.debrief.asked_entries import (
    AsAsked,
    act_as_asked,
    dose_part,
    knowing,
    nearest,
    reading_of,
    retold,
    route_of,
    setting_as_asked,
)
from simengine.debrief.asked_words import act_asked, act_done, setting_at, told_at
from simengine.debrief.debrief_sentences import say
from simengine.debrief.kept_as_asked import kept, repeated
from simengine.debrief.not_advised_as_asked import as_advised
from simengine.debrief.run_again import Changed
from simengine.quantities.formatting import listed, value_words
from simengine.scenario.key import (
    Asked,
    AskedAction,
    AskedFault,
    AskedKnowledge,
    AskedSetting,
    Avoid,
    Item,
    Keep,
    Repeat,
    Windowed,
)
from simengine.scenario.wanted import Value
from simengine.scoring.card import Compared, ItemScore, OccasionScore
from simengine.session.events import Event
from simengine.session.record import Session

_LATE = ("late", "too late")
_DONE = (*_LATE, "early", "setting off")
_MET = 0.999


@dataclass(frozen=True, slots=True)
class Righted:
    """What was put right of an act, in words: its ``values``, and ``over`` how long it was given.

    False where that is nothing.
    """

    values: tuple[str, ...]
    over: str

    def __bool__(self) -> bool:
        return bool(self.values or self.over)

    def said(self) -> str:
        """Tell it as what care asks: "a dose of 10 mL/kg", "giving it over 5 min"."""
        return self._listed() if self.values else say("what_if_over", over=self.over)

    def asked(self) -> str:
        """Tell it as what goes on from "What if you had …?"."""
        if not self.values:
            return say("ask_over", over=self.over)
        return say("ask_with", values=self._listed())

    def said_by(self, what: str, when: str) -> str:
        """Tell an act with it, by a time."""
        if not self.values:
            return say("what_if_by_over", what=what, when=when, over=self.over)
        return say("what_if_by_with", what=what, when=when, values=self._listed())

    def asked_by(self, when: str) -> str:
        """Tell it by a time as what goes on from "What if you had …?"."""
        if not self.values:
            return say("ask_by_over", when=when, over=self.over)
        return say("ask_by_with", when=when, values=self._listed())

    def _listed(self) -> str:
        values = listed(list(self.values))
        return say("what_if_values_over", values=values, over=self.over) if self.over else values


def as_asked(session: Session, item: Item, score: ItemScore) -> AsAsked | None:
    """Return an item that was not met as care asks for it.

    ``None`` where it was met, or lost something else than time or a setting. What was done comes
    before what was not.
    """
    if isinstance(item, Avoid):
        return as_advised(session, item, score)
    if not score.applied or score.credit is None or score.credit >= _MET:
        return None
    if isinstance(item, Windowed):
        return done_as_asked(session, item, score) or _missed(session, item, score)
    if isinstance(item, Repeat) and score.verdict in ("missed", "partly"):
        return repeated(session, item, score)
    if isinstance(item, Keep) and score.verdict in ("missed", "partly"):
        return kept(session, item)
    return None


def done_as_asked(session: Session, item: Windowed, score: ItemScore) -> AsAsked | None:
    """Return what was done of an item at the asked time, or with the asked settings."""
    events = {event.id: event for event in session.effective}
    for occasion in _worst_first(score):
        event = next((events[e.event_id] for e in occasion.evidence if e.event_id in events), None)
        if event is None or occasion.done_ms is None or occasion.verdict not in _DONE:
            continue
        what = act_done(session, item.asked, event)
        if occasion.verdict == "early":
            return _waited(session, item, occasion, event, what)
        if occasion.verdict == "setting off":
            data, righted = _put_right(session, item, occasion, event)
            if righted:
                change = Changed(event.id, data=data)
                return AsAsked((change,), righted.said(), righted.asked())
        elif occasion.verdict in _LATE:
            return _in_time(session, item, occasion, event, what)
    return None


def _worst_first(score: ItemScore) -> list[OccasionScore]:
    return sorted(score.occasions, key=lambda occasion: occasion.credit or 0.0)


def _waited(
    session: Session, item: Windowed, occasion: OccasionScore, event: Event, what: str
) -> AsAsked:
    at_ms = occasion.opened_ms + max(item.not_before_ms or 0, 0)
    when = told_at(session, at_ms)
    changed = (Changed(event.id, at_ms=at_ms, data=retold(session, event.data, at_ms)),)
    return AsAsked(changed, say("what_if_at", what=what, when=when), say("ask_waited", when=when))


def _in_time(
    session: Session, item: Windowed, occasion: OccasionScore, event: Event, what: str
) -> AsAsked:
    due_ms = occasion.opened_ms + item.ideal_ms
    when = told_at(session, due_ms)
    # A reading comes some time after what was done for it.
    done_ms = session.times.scenario(event.at_ms, event.seq)
    at_ms = due_ms - ((occasion.done_ms or done_ms) - done_ms)
    if occasion.settings_credit == 0.0:
        data, righted = _put_right(session, item, occasion, event)
        if righted:
            return AsAsked(
                (Changed(event.id, at_ms=at_ms, data=data),),
                righted.said_by(what, when),
                righted.asked_by(when),
            )
    changed = Changed(event.id, at_ms=at_ms, data=retold(session, event.data, at_ms))
    if _is_repair(item.asked, event):
        entries, what = _done_at(session, item, due_ms)
        what = say("what_if_found_by", what=what, when=when)
        return AsAsked(entries, what, say("ask_by", when=when))
    return AsAsked((changed,), say("what_if_by", what=what, when=when), say("ask_by", when=when))


def _is_repair(act: Asked, event: Event) -> bool:
    """Whether an entry did more than find a fault that was asked to be found."""
    return (
        isinstance(act, AskedFault)
        and act.status == "found"
        and not (event.kind == "fault" and event.data.get("status") == "found")
    )


def _put_right(
    session: Session, item: Windowed, occasion: OccasionScore, event: Event
) -> tuple[dict[str, Any], Righted]:
    """Return an entry's data with all that was off as it is asked, and the words for that."""
    data = dict(event.data)
    values: list[str] = []
    over = ""
    given: Mapping[str, Any] = event.data.get("settings") or {}
    for part in occasion.settings:
        if part.credit >= 1 or not part.recorded:
            continue
        if part.name in given and part.name in item.settings:
            was = _given(session, part, event)
            value = nearest(session, item.settings[part.name], was, occasion.opened_ms)
            if value is not None:
                unit = session.scenario.vocabulary.settings[part.name].unit
                settings = {**data["settings"], part.name: reading_of(value, unit)}
                data["settings"] = settings
                values.append(setting_at(session, part.name, value))
        elif data.get("dose"):
            reading = _dose_put_right(session, item, part, data)
            if reading is None:
                continue
            if part.name == "over":
                over = value_words(reading["value"], reading.get("unit"))
            else:
                values.append(_dose_words(session, str(data["action"]), part.name, reading))
    return data, Righted(tuple(values), over)


def _given(session: Session, part: Compared, event: Event) -> Value | None:
    changes = session.record.changes.get(part.name, ())
    return next((change.value for change in changes if change.event_id == event.id), None)


def _dose_put_right(session: Session, item: Windowed, part: Compared, data: dict[str, Any]) -> Any:
    """Put a part of a dose right in ``data``; return what it then is, ``None`` where unknown."""
    dose, action = data["dose"], str(data["action"])
    reading = dose_part(session, item, action, part.name, route_of(dose))
    if reading is not None:
        data["dose"] = {**dose, part.name: reading}
    return reading


def _dose_words(session: Session, action: str, name: str, reading: Any) -> str:
    if isinstance(reading, str):
        carried = session.scenario.vocabulary.actions[action].dose
        label = carried.routes.get(reading, reading) if carried is not None else reading
        return say("what_if_route", route=label)
    value = value_words(reading["value"], reading.get("unit"))
    key = {
        "amount": "what_if_amount",
        "strength": "what_if_strength",
        "flush": "what_if_flush",
    }[name]
    return say(key, value=value)


def _missed(session: Session, item: Windowed, score: ItemScore) -> AsAsked | None:
    for occasion in _worst_first(score):
        if occasion.verdict == "missed":
            due_ms = occasion.opened_ms + item.ideal_ms
            when = told_at(session, due_ms)
            entries, what = _done_at(session, item, due_ms)
            what = say("what_if_by", what=what, when=when)
            ended = due_ms > session.end_ms
            return AsAsked(entries, what, say("ask_by", when=when), ended)
    return None


def _done_at(session: Session, item: Windowed, at_ms: int) -> tuple[tuple[Changed, ...], str]:
    """Return what was not done in time as an entry at an instant, and what to call it."""
    act, name = item.asked, f"as asked {item.id}"
    what = act_asked(session, act)
    if at_ms > session.end_ms:
        return (), what
    match act:
        case AskedAction(action):
            later = _later(session, act, at_ms)
            if later is not None:
                what = act_done(session, act, later)
                data = retold(session, later.data, at_ms)
                return (Changed(later.id, at_ms=at_ms, data=data),), what
            return (act_as_asked(session, action, at_ms, name, item),), what
        case AskedSetting(setting):
            value = setting_as_asked(session, act, at_ms)
            if value is None:
                return (), what
            unit = session.scenario.vocabulary.settings[setting].unit
            data = {"setting": setting, **reading_of(value, unit)}
            what = setting_at(session, setting, value)
            return (Changed(name, at_ms, data, added="set"),), what
        case AskedFault(fault, status):
            data = {"fault": fault, "status": status}
            return (Changed(name, at_ms, data, added="fault"),), what
        case AskedKnowledge():
            known = knowing(session, act, at_ms, name)
            return (() if known is None else (known,)), what


def _later(session: Session, act: AskedAction, due_ms: int) -> Event | None:
    """Return the entry of an action that was done after an instant."""
    later = next(
        (
            run.event_id
            for run in session.record.performances
            if run.action in act.actions and run.acts and run.start_ms > due_ms
        ),
        None,
    )
    return next((event for event in session.effective if event.id == later), None)
