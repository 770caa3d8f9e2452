"""What an item of the marking guide asks, in words: what, when and with what.

Rules of this file:

- Windows are told as lengths of time after their anchor; every number has its unit.
- A range that came from the protocol says so.
"""

from __future__ import annotations

from collections.abc import Mapping

from simengine.debrief.debrief_sentences import say
from simengine.quantities import Range, format_duration
from simengine.quantities.wording import listed, percent
from simengine.scenario.key import (
    Anchor,
    Asked,
    AskedAction,
    AskedSetting,
    Avoid,
    DoseAsked,
    Expect,
    Item,
    Keep,
    Order,
    Repeat,
    Respond,
)
from simengine.scenario.model import Scenario
from simengine.scenario.wanted import Steps, Wanted
from simengine.scenario.words import asked_words, condition_words, range_words, wanted_words


def item_asked(scenario: Scenario, item: Item) -> str:
    """Return one sentence (or two) that says what an item asks."""
    actions = scenario.vocabulary.actions
    if isinstance(item, Expect):
        text = f"{_what(scenario, item.asked)} {_window(scenario, item)}"
        text += _with_what(scenario, item.asked, item.settings, item.dose)
    elif isinstance(item, Respond):
        text = say(
            "asked_each_time",
            what=_what(scenario, item.asked),
            ideal=format_duration(item.ideal_ms),
            condition=condition_words(item.whenever, scenario.vocabulary),
            lasting=format_duration(item.lasting_ms),
            until=_until(item.ideal_ms, item.latest_ms),
        )
        text += _with_what(scenario, item.asked, item.settings, item.dose)
    elif isinstance(item, Repeat):
        text = say(
            "asked_every", what=_what(scenario, item.asked), every=format_duration(item.every_ms)
        )
        if item.grace_ms:
            text += say("asked_grace", grace=format_duration(item.grace_ms))
        if item.spoken:
            text += say("asked_aloud")
    elif isinstance(item, Keep):
        text = say("asked_kept", share=percent(item.share)) + condition_words(
            item.condition, scenario.vocabulary
        )
    elif isinstance(item, Order):
        text = say("asked_order") + say("asked_order_then").join(
            actions[name].label for name in item.actions
        )
    else:
        text = _avoided(scenario, item)
    if item.during:
        states = [f"“{scenario.states[name].title}”" for name in item.during]
        text += say("asked_during", states=listed(states))
    return f"{text}."


def _what(scenario: Scenario, asked: Asked) -> str:
    if isinstance(asked, AskedSetting) and asked.to is not None:
        setting = scenario.vocabulary.settings[asked.setting]
        return f"{setting.label} {_range(scenario, asked.to, setting.unit)}"
    return asked_words(asked, scenario.vocabulary, dict(scenario.start.faults))


def _range(scenario: Scenario, wanted: Wanted, unit: str | None) -> str:
    if isinstance(wanted, Steps):
        return say("by_protocol", range=wanted_words(wanted, unit))
    named = isinstance(wanted, Range) and wanted.protocol is not None
    told = range_words(wanted, unit)
    return say("by_protocol", range=told) if named else told


def _window(scenario: Scenario, item: Expect) -> str:
    anchor = _anchor(scenario, item.anchor)
    text = say("window_within", ideal=format_duration(item.ideal_ms), anchor=anchor)
    if item.not_before_ms is not None and item.not_before_ms > 0:
        text = say(
            "window_between",
            not_before=format_duration(item.not_before_ms),
            ideal=format_duration(item.ideal_ms),
            anchor=anchor,
        )
    if item.each:
        text += say("window_each_time")
    return text + _until(item.ideal_ms, item.latest_ms)


def _until(ideal_ms: int, latest_ms: int) -> str:
    return (
        say("window_part_credit", latest=format_duration(latest_ms)) if latest_ms > ideal_ms else ""
    )


def _anchor(scenario: Scenario, anchor: Anchor) -> str:
    if anchor.kind == "start":
        return say("anchor_start")
    if anchor.kind == "clock":
        return (scenario.start.clock or say("anchor_time_zero")).replace("_", " ")
    name = anchor.name or ""
    if anchor.kind == "state":
        return f"“{scenario.states[name].title}”"
    if anchor.kind == "action":
        return f"“{scenario.vocabulary.actions[name].label}”"
    return f"“{scenario.start.faults[name].shows}”"


def _with_what(
    scenario: Scenario, asked: Asked, settings: Mapping[str, Wanted], dose: DoseAsked | None
) -> str:
    known = scenario.vocabulary.settings
    parts = [
        f"{known[name].label} {_range(scenario, wanted, known[name].unit)}"
        for name, wanted in settings.items()
    ]
    carried = (
        scenario.vocabulary.actions[asked.action].dose if isinstance(asked, AskedAction) else None
    )
    if dose is not None and carried is not None:
        if dose.amount is not None and not dose.by_route:
            parts.append(say("with_dose", range=_range(scenario, dose.amount, carried.unit)))
        for route, wanted in dose.by_route.items():
            label = carried.routes.get(route, route)
            parts.append(f"{label}: {_range(scenario, wanted, carried.unit)}")
        if dose.routes:
            parts.append(listed([carried.routes.get(route, route) for route in dose.routes]))
        if dose.strength is not None:
            parts.append(
                say("with_strength", range=_range(scenario, dose.strength, carried.strength_unit))
            )
        if dose.flush is not None:
            parts.append(say("with_flush", range=_range(scenario, dose.flush, carried.flush_unit)))
    return say("with_all", parts="; ".join(parts)) if parts else ""


def _avoided(scenario: Scenario, item: Avoid) -> str:
    if isinstance(item.what, AskedAction):
        what = asked_words(item.what, scenario.vocabulary, {})
    elif item.condition is None:
        what = item.title
    else:
        what = condition_words(item.condition, scenario.vocabulary)
        if item.lasting_ms:
            what += say("avoided_for", lasting=format_duration(item.lasting_ms))
    text = say("avoided", what=what, deduct=percent(item.deduct))
    return text + (
        say("avoided_at_most", at_most=percent(item.at_most)) if item.at_most is not None else ""
    )
