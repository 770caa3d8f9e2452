"""What is asked again and again, or all the time, as care asks it: entries, and their words.

Rules of this file:

- What was left too long is done once more at each time at which it was due.
- A setting that was off is put right where it was set; a lasting act has no break, or is stopped
  as soon as it was to be. What was set as it was begun again is set all the same.
- What is to be kept of the baby itself (its temperature, its chest) is nobody's act.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from simengine.debrief.asked_entries import AsAsked, act_as_asked, knowing, nearest, reading_of
from simengine.debrief.asked_words import act_asked, setting_at
from simengine.debrief.debrief_sentences import say
from simengine.debrief.run_again import Changed
from simengine.quantities import format_duration
from simengine.quantities.formatting import listed
from simengine.scenario.conditions import AnyOf, Condition, Doing, Not, SettingIs
from simengine.scenario.key import AskedAction, Keep, Repeat
from simengine.scenario.wanted import Value, Wanted
from simengine.scoring.card import ItemScore
from simengine.scoring.make_plan import stays_in
from simengine.session.events import Event
from simengine.session.record import Change, Performance, Session


def repeated(session: Session, item: Repeat, score: ItemScore) -> AsAsked:
    """Return what was not repeated in time, done at each time at which it was due."""
    done = [part.at_ms for part in score.evidence if part.at_ms is not None]
    added = tuple(
        change
        for at_ms in _left_too_long(session, item, done)
        if (change := _once_more(session, item, at_ms)) is not None
    )
    every = format_duration(item.every_ms)
    what = say("what_if_every", what=act_asked(session, item.asked), every=every)
    return AsAsked(added, what, say("ask_every", every=every))


def _left_too_long(session: Session, item: Repeat, done: Sequence[int]) -> Iterator[int]:
    """Yield the instants at which it was due and not done."""
    for entry, end in stays_in(session, item.during):
        known = [at_ms for at_ms in done if entry < at_ms < end]
        for before, after in pairwise([entry, *sorted(known), end]):
            if after - before > item.every_ms + item.grace_ms:
                yield from range(before + item.every_ms, after, item.every_ms)


def _once_more(session: Session, item: Repeat, at_ms: int) -> Changed | None:
    name = f"as asked {item.id} {at_ms}"
    if isinstance(item.asked, AskedAction):
        return act_as_asked(session, item.asked.action, at_ms, name)
    return knowing(session, item.asked, at_ms, name)


def kept(session: Session, item: Keep) -> AsAsked | None:
    """Return what was to be kept, kept; ``None`` where it is no setting and no act."""
    if isinstance(item.condition, SettingIs):
        return _setting_kept(session, item, item.condition.setting, item.condition.wanted)
    if isinstance(item.condition, Not) and isinstance(item.condition.part, Doing):
        return _stopped(session, item, item.condition.part.action)
    actions = _lasting(item.condition)
    return _without_break(session, item, actions) if actions else None


def _lasting(condition: Condition) -> tuple[str, ...]:
    """Return the acts any of which is to go on; none where something else is asked as well."""
    parts = condition.parts if isinstance(condition, AnyOf) else (condition,)
    names = tuple(part.action for part in parts if isinstance(part, Doing))
    return names if len(names) == len(parts) else ()


def _setting_kept(session: Session, item: Keep, name: str, wanted: Wanted) -> AsAsked:
    unit = session.scenario.vocabulary.settings[name].unit
    events = {event.id: event for event in session.effective}
    changed: dict[str, Changed] = {}
    right: Value | None = None
    for entry, end in stays_in(session, item.during):
        for change in _in_force(session.record.changes.get(name, ()), entry, end):
            value = nearest(session, wanted, change.value, change.at_ms)
            if value is None or value == change.value:
                continue
            right = value
            event = events.get(change.event_id or "")
            entry_changed = set_right(item.id, name, reading_of(value, unit), event, entry)
            changed[entry_changed.event_id] = entry_changed
    what = setting_at(session, name, right)
    keeping = say("what_if_kept", what=what)
    return AsAsked(tuple(changed.values()), keeping, say("ask_kept", what=what))


def _in_force(changes: Sequence[Change], entry: int, end: int) -> list[Change]:
    """Return the changes of a setting that were in force in a stretch of time."""
    before = [change for change in changes if change.at_ms <= entry]
    return [*before[-1:], *(change for change in changes if entry < change.at_ms < end)]


def set_right(
    id_: str, name: str, reading: dict[str, object], event: Event | None, at_ms: int
) -> Changed:
    """Return the entry that set a setting with another reading; without one, a new one at an
    instant. ``id_``: of the item that asks it.
    """
    if event is None:  # as the scenario has it at the start: nobody's entry
        data = {"setting": name, **reading}
        return Changed(f"as asked {id_} {at_ms}", at_ms, data, added="set")
    if event.kind == "set":
        return Changed(event.id, data={**event.data, **reading})
    settings = {**(event.data.get("settings") or {}), name: reading}
    return Changed(event.id, data={**event.data, "settings": settings})


def _without_break(session: Session, item: Keep, actions: Sequence[str]) -> AsAsked:
    runs = [run for run in session.record.performances if run.action in actions and run.acts]
    out: list[Changed] = []
    for entry, end in stays_in(session, item.during):
        for run in runs:
            stop = run.stop_ms
            if stop is None or not entry <= stop < end or _goes_on(runs, stop):
                continue
            stopped = _stop_of(session, run)
            out += [Changed(stopped.id, left_out=True)] if stopped is not None else []
            again = next((later for later in runs if later.start_ms > stop), None)
            if again is not None and again.action == run.action and again.start_ms < end:
                out += _set_all_the_same(session, again)
    doing = listed([session.scenario.vocabulary.actions[name].doing for name in actions], "or")
    what = say("what_if_without_break", what=doing)
    return AsAsked(tuple(out), what, say("ask_without_break"))


def _goes_on(runs: Sequence[Performance], at_ms: int) -> bool:
    return any(
        run.start_ms <= at_ms and (run.stop_ms is None or run.stop_ms > at_ms) for run in runs
    )


def _set_all_the_same(session: Session, again: Performance) -> Iterator[Changed]:
    """Leave out the beginning of what goes on anyhow, but for what was set with it."""
    yield Changed(again.event_id, left_out=True)
    event = next(event for event in session.effective if event.id == again.event_id)
    for name, reading in (event.data.get("settings") or {}).items():
        data = {"setting": name, **reading}
        yield Changed(f"{event.id} {name}", again.start_ms, data, added="set")


def _stopped(session: Session, item: Keep, action: str) -> AsAsked:
    """Return a lasting act stopped as soon as it was to be, and not begun again."""
    out: list[Changed] = []
    runs = [run for run in session.record.performances if run.action == action and run.acts]
    for entry, end in stays_in(session, item.during):
        for run in runs:
            if run.stop_ms is None or run.stop_ms <= entry or run.start_ms >= end:
                continue
            stop = _stop_of(session, run)
            if run.start_ms >= entry:
                out.append(Changed(run.event_id, left_out=True))
                out += [Changed(stop.id, left_out=True)] if stop is not None else []
            elif stop is not None:
                out.append(Changed(stop.id, at_ms=entry))
            else:
                data = {"action": action, "phase": "stop"}
                out.append(Changed(f"as asked {item.id} {entry}", entry, data, added="action"))
    act = session.scenario.vocabulary.actions[action]
    what = say("what_if_stopped", noun=act.noun)
    return AsAsked(tuple(out), what, say("ask_stopped", what=act.doing))


def _stop_of(session: Session, run: Performance) -> Event | None:
    """Return the entry by which a lasting act was stopped."""
    for event in session.effective:
        data = event.data
        if event.kind == "action" and data.get("action") == run.action:
            at_ms = session.times.scenario(event.at_ms, event.seq)
            if data.get("phase") == "stop" and at_ms == run.stop_ms:
                return event
    return None
