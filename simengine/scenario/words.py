"""Conditions and what is asked, in words for people.

The diagram, the console and the debrief all tell a condition by ``condition_words``, so that one
condition reads the same everywhere: "ventilation running and peak pressure (PIP) at least
25 cmH2O".
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from simengine.quantities import Range, format_duration, format_range
from simengine.scenario.conditions import (
    All,
    AnyOf,
    ClockIs,
    Condition,
    Doing,
    Done,
    FaultIs,
    Not,
    Observed,
    Seen,
    SettingIs,
    SupplyIs,
)
from simengine.scenario.key import Asked, AskedAction, AskedSetting
from simengine.scenario.model import Fault, State, Transition
from simengine.scenario.vocabulary import Observation, Setting, Supply, Vocabulary
from simengine.scenario.wanted import OneOf, Steps, Wanted


def condition_words(condition: Condition, vocabulary: Vocabulary) -> str:
    """Tell a condition: ``chest rising and peak pressure (PIP) at least 25 cmH2O``."""
    match condition:
        case Doing(action):
            return f"{_label(vocabulary.actions[action].label)} running"
        case Done(action):
            return f"{_label(vocabulary.actions[action].label)} done"
        case SettingIs(setting, wanted):
            return _subject_words(vocabulary.settings[setting], wanted)
        case Observed(observation, wanted):
            return _subject_words(vocabulary.observations[observation], wanted)
        case Seen(observation):
            return f"{_label(vocabulary.observations[observation].label)} known to the team"
        case SupplyIs(supply, wanted):
            return _supply_words(vocabulary.supplies[supply], wanted)
        case FaultIs(fault, status):
            said = {"planted": "not yet found", "found": "found", "mended": "put right"}[status]
            return f"fault “{fault.replace('_', ' ')}” {said}"
        case ClockIs(wanted):
            return f"clock {time_range_words(wanted)}"
        case All(parts):
            return _joined(parts, "and", vocabulary)
        case AnyOf(parts):
            return _joined(parts, "or", vocabulary)
        case Not(part):
            return _not_words(part, vocabulary)


def transition_words(transition: Transition, vocabulary: Vocabulary) -> str:
    """Tell what a transition waits for, all of it: ``birth``, ``after 75 s``, a condition."""
    parts: list[str] = []
    if transition.on is not None:
        parts.append(transition.on.replace("_", " "))
    if transition.when is not None:
        said = condition_words(transition.when, vocabulary)
        if transition.lasting_ms:
            said += f" for {format_duration(transition.lasting_ms)}"
        parts.append(said)
    if transition.after_ms is not None:
        parts.append(f"after {format_duration(transition.after_ms)}")
    return ", ".join(parts)


def state_words(state: State, vocabulary: Vocabulary) -> str:
    """Tell what a state shows in words, the observations that are words only."""
    return ", ".join(
        f"{_label(vocabulary.observations[name].label)} {shown}"
        for name, shown in state.shows.items()
        if isinstance(shown, str)
    )


def wanted_words(wanted: Wanted, unit: str | None) -> str:
    """Tell what is wanted: ``21 to 30 %``, ``rising``, ``65 % or more by the clock``."""
    match wanted:
        case OneOf(words):
            return _or(words)
        case Steps(rows):
            return ", ".join(
                f"{format_range(row, unit or '')} from {format_duration(since)}"
                for since, row in rows
            )
        case Range():
            return format_range(wanted, unit or "")


def asked_words(asked: Asked, vocabulary: Vocabulary, faults: dict[str, Fault]) -> str:
    """Tell what a key item asks for, as a title: ``Oxygen at most 40 %``, ``Ventilation``."""
    if isinstance(asked, AskedAction):
        return vocabulary.actions[asked.action].label
    if isinstance(asked, AskedSetting):
        setting = vocabulary.settings[asked.setting]
        if asked.direction is not None:
            return f"{setting.label} {'lowered' if asked.direction == 'lower' else 'raised'}"
        assert asked.to is not None
        return f"{setting.label} {wanted_words(asked.to, setting.unit)}"
    shows = faults[asked.fault].shows if asked.fault in faults else asked.fault.replace("_", " ")
    return f"{'Found' if asked.status == 'found' else 'Put right'}: {_label(shows)}"


def time_range_words(wanted: Range) -> str:
    """Tell a range of milliseconds: ``at most 4 min 30 s``."""
    ends = [format_duration(end) if abs(end) != inf else "" for end in (wanted.low, wanted.high)]
    if not ends[1]:
        return f"{'above' if wanted.low_open else 'at least'} {ends[0]}"
    if not ends[0]:
        return f"{'below' if wanted.high_open else 'at most'} {ends[1]}"
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def _label(label: str) -> str:
    """A label inside a sentence: a capital that only opens the label goes."""
    first, _, _ = label.partition(" ")
    plain = first[1:].islower() or len(first) == 1
    return label[:1].lower() + label[1:] if plain else label


def _subject_words(subject: Setting | Observation, wanted: Wanted) -> str:
    label = _label(subject.label)
    if isinstance(wanted, OneOf):
        return f"{label} {_or(wanted.words)}"
    if isinstance(wanted, Steps):
        return f"{label} as the protocol has it by the clock"
    return f"{label} {format_range(wanted, subject.unit or '')}"


def _supply_words(supply: Supply, wanted: Range) -> str:
    label = _label(supply.label)
    if wanted.high == 0:
        return f"{label} empty"
    return f"{label} {format_range(wanted, supply.unit)}"


def _not_words(part: Condition, vocabulary: Vocabulary) -> str:
    match part:
        case Doing(action):
            return f"{_label(vocabulary.actions[action].label)} not running"
        case Done(action):
            return f"{_label(vocabulary.actions[action].label)} not done"
        case Seen(observation):
            return f"{_label(vocabulary.observations[observation].label)} not known to the team"
        case Not(inner):
            return condition_words(inner, vocabulary)
        case _:
            return f"not ({condition_words(part, vocabulary)})"


def _joined(parts: Sequence[Condition], word: str, vocabulary: Vocabulary) -> str:
    said = [
        f"({condition_words(part, vocabulary)})"
        if isinstance(part, (All, AnyOf)) and len(part.parts) > 1
        else condition_words(part, vocabulary)
        for part in parts
    ]
    return f" {word} ".join(said)


def _or(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
