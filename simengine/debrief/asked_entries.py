"""Entries of a log as care asks them: an action with what goes with it, a setting, a dose.

Rules of this file:

- A value is the nearest that is right; what is told with an act is what the baby showed just then.
- Where the marking guide does not say what is right there is no value.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from simengine.debrief.run_again import Changed
from simengine.scenario.key import AskedAction, AskedKnowledge, AskedSetting, Item
from simengine.scenario.wanted import AsShown, Told, Value, nearest_within
from simengine.scoring.parts import wanted_at
from simengine.session.readings import true_value
from simengine.session.record import Session


@dataclass(frozen=True, slots=True)
class AsAsked:
    """An item's act as asked: the entries ``changed`` for it, and in words.

    ``what``: the act ("drying the baby by 0:30"). ``question``: what goes on from "What if you
    had …?" ("done this by 0:30"). ``changed`` is empty where the record does not tell how, and
    where the session had ``ended`` by the time at which it was due.
    """

    changed: tuple[Changed, ...]
    what: str
    question: str
    ended: bool = False


_DOSE = ("route", "amount", "strength", "flush", "over")


def act_as_asked(
    session: Session, action: str, at_ms: int, name: str, item: Item | None = None
) -> Changed:
    """Return an action, done or begun, with what is asked of it and what the baby showed."""
    entry = session.scenario.vocabulary.actions[action]
    data: dict[str, Any] = {"action": action, "phase": "start" if entry.lasting else "done"}
    if item is not None and isinstance(item.asked, AskedAction):
        settings = {}
        for setting, wanted in item.settings.items():
            value = nearest(session, wanted, None, at_ms)
            if value is not None:
                unit = session.scenario.vocabulary.settings[setting].unit
                settings[setting] = reading_of(value, unit)
        if settings:
            data["settings"] = settings
        dose = {
            part: reading
            for part in _DOSE
            if (reading := dose_part(session, item, action, part, "")) is not None
        }
        if dose:
            data["dose"] = dose
    if entry.reads is not None:
        spoken = {entry.reads: _shown(session, entry.reads, at_ms)}
        data["spoken"] = {name: shown for name, shown in spoken.items() if shown is not None}
    return Changed(name, at_ms, data, added="action")


def retold(session: Session, data: Mapping[str, Any], at_ms: int) -> dict[str, Any]:
    """Return an entry's data at another instant: what is told with it is what was so then."""
    spoken = data.get("spoken") or {}
    if not spoken:
        return dict(data)
    now = {name: _shown(session, name, at_ms) or shown for name, shown in spoken.items()}
    return {**data, "spoken": now}


def _shown(session: Session, name: str, at_ms: int) -> dict[str, Any] | None:
    """Return what the baby showed at an instant, as it is told."""
    value = true_value(name, session.curves, session.words, at_ms)
    if value is None:
        return None
    observation = session.scenario.vocabulary.observations[name]
    shown = value if isinstance(value, str) else round(value, observation.decimals)
    return reading_of(shown, observation.unit)


def knowing(session: Session, knowledge: AskedKnowledge, at_ms: int, name: str) -> Changed | None:
    """Return an act by which an observation is known, and told where that is asked, at an instant.

    What takes no time comes before what lasts.
    """
    vocabulary = session.scenario.vocabulary
    observation = vocabulary.observations[knowledge.observation]
    ways = {way.action: way.delay_ms for way in observation.revealed_by}
    if knowledge.told:
        telling = [
            action.name
            for action in vocabulary.actions.values()
            if action.reads == observation.name
        ]
        ways = {action: ways.get(action, 0) for action in telling} or ways
    quickest = sorted(ways, key=lambda action: vocabulary.actions[action].lasting)
    for action in quickest[:1]:
        return act_as_asked(session, action, at_ms - ways[action], name)
    return None


def setting_as_asked(session: Session, change: AskedSetting, at_ms: int) -> Value | None:
    """Return what a setting is to be at an instant: within a range, or a step up or down."""
    setting = session.scenario.vocabulary.settings[change.setting]
    before = [c.value for c in session.record.changes.get(setting.name, ()) if c.at_ms <= at_ms]
    value = before[-1] if before else None
    if change.to is not None:
        return nearest(session, change.to, value, at_ms)
    if value is None or isinstance(value, str):
        return None
    by = max(setting.least_change, setting.step or 0.0)
    return value + (by if change.direction == "higher" else -by)


def dose_part(session: Session, item: Item, action: str, part: str, route: str) -> Any:
    """Return a part of the dose that an item asks, as the log has it; ``None``: nothing asked."""
    carried, dose = session.scenario.vocabulary.actions[action].dose, item.dose
    if carried is None or dose is None:
        return None
    routes = (*dose.by_route, *dose.routes)
    if part == "route":
        return routes[0] if routes else None
    by_route = dose.by_route.get(route or next(iter(routes), ""), dose.amount)
    wanted, unit = {
        "amount": (by_route, carried.unit),
        "strength": (dose.strength, carried.strength_unit),
        "flush": (dose.flush, carried.flush_unit),
        "over": (dose.over, carried.over_unit),
    }.get(part, (None, None))
    value = nearest_within(wanted, None) if wanted is not None else None
    return None if value is None else reading_of(value, unit)


def nearest(session: Session, wanted: Told, value: Value | None, at_ms: int) -> Value | None:
    """Return the right value that is nearest to what was so; ``None`` where none is known."""
    if isinstance(wanted, AsShown):
        return None
    now = wanted_at(wanted, at_ms, session.record.clock_ms)
    return None if now is None else nearest_within(now, value)


def route_of(dose: Mapping[str, Any]) -> str:
    """Return the route by which a dose of the log was given; empty where nobody wrote it down."""
    route = dose.get("route", "")
    return str(route["value"] if isinstance(route, Mapping) else route)


def reading_of(value: Value, unit: str | None) -> dict[str, Any]:
    """Return a value as the log has it."""
    return (
        {"value": value}
        if isinstance(value, str) or unit is None
        else {
            "value": value,
            "unit": unit,
        }
    )
