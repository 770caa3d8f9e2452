"""What items of the marking guide ask, in words: what each kind's own ``asks`` is made of.

Rules of this file:

- Windows are told as lengths of time after their anchor; every number has its unit.
- A range that came from the protocol says so.
"""

from __future__ import annotations

from simengine.quantities import Range, format_duration, format_quantity
from simengine.quantities.formatting import in_a_sentence, listed
from simengine.scenario.key import Anchor, Asked, AskedAction, AskedSetting, Expect, Item, Windowed
from simengine.scenario.model import Scenario
from simengine.scenario.wanted import AsShown, Steps, Told
from simengine.scenario.words import asked_words, range_words, wanted_words
from simengine.scoring.catalogue import say


def during_words(scenario: Scenario, item: Item) -> str:
    """Say in which states an item is asked, where it is not in all."""
    if not item.during:
        return ""
    states = [f"“{scenario.states[name].title}”" for name in item.during]
    return say("asked_during", states=listed(states))


def asked_thing(scenario: Scenario, asked: Asked) -> str:
    """Say what is asked: an action, a change, a fault or something to be known."""
    if isinstance(asked, AskedSetting) and asked.to is not None:
        setting = scenario.vocabulary.settings[asked.setting]
        return f"{setting.label} {_range(scenario, asked.to, setting.unit)}"
    return asked_words(asked, scenario.vocabulary, dict(scenario.start.faults))


def _range(scenario: Scenario, wanted: Told, unit: str | None) -> str:
    if isinstance(wanted, AsShown):
        return say("as_shown", within=format_quantity(wanted.within, wanted.unit))
    if isinstance(wanted, Steps):
        return say("by_protocol", range=wanted_words(wanted, unit))
    named = isinstance(wanted, Range) and wanted.protocol is not None
    words = range_words(wanted, unit)
    return say("by_protocol", range=words) if named else words


def window_asked(scenario: Scenario, item: Expect) -> str:
    """Say between when and when something is asked after its anchor."""
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
    return text + part_credit_until(item)


def part_credit_until(item: Windowed) -> str:
    """Say until when part of the credit is given, where that is later than the ideal."""
    if item.latest_ms <= item.ideal_ms:
        return ""
    return say("window_part_credit", latest=format_duration(item.latest_ms))


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


def with_what(scenario: Scenario, item: Windowed) -> str:
    """Say which settings and which dose go with what is asked."""
    subject, dose = item.asked, item.dose
    known = scenario.vocabulary.settings
    parts = [
        f"{in_a_sentence(known[name].label)} {_range(scenario, wanted, known[name].unit)}"
        for name, wanted in item.settings.items()
    ]
    carried = (
        scenario.vocabulary.actions[subject.action].dose
        if isinstance(subject, AskedAction)
        else None
    )
    if dose is not None and carried is not None:
        if dose.amount is not None and not dose.by_route:
            parts.append(say("with_dose", range=_range(scenario, dose.amount, carried.unit)))
        for route, wanted in dose.by_route.items():
            label = in_a_sentence(carried.routes.get(route, route))
            parts.append(f"{label}: {_range(scenario, wanted, carried.unit)}")
        if dose.routes:
            parts.append(
                listed([in_a_sentence(carried.routes.get(route, route)) for route in dose.routes])
            )
        if dose.strength is not None:
            parts.append(
                say("with_strength", range=_range(scenario, dose.strength, carried.strength_unit))
            )
        if dose.flush is not None:
            parts.append(say("with_flush", range=_range(scenario, dose.flush, carried.flush_unit)))
        if dose.over is not None:
            parts.append(say("with_over", range=_range(scenario, dose.over, carried.over_unit)))
    return say("with_all", parts="; ".join(parts)) if parts else ""
