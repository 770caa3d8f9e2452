"""Conditions and what is asked, in words for people.

The diagram, the console and the debrief all tell a condition by ``condition_words``, so that one
condition reads the same everywhere: "ventilation running, with peak pressure (PIP) at
least 25 cmH2O". In a sentence a label goes up to its first comma or colon, so that
"Chest compressions, 3 to 1" reads "chest compressions running".
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from math import inf

from simengine.quantities import Range, format_duration, format_quantity, format_range
from simengine.quantities.formatting import in_a_sentence, listed
from simengine.scenario.conditions import (
    All,
    AnyOf,
    ClockIs,
    Condition,
    Doing,
    Done,
    FaultIs,
    Given,
    Lately,
    Not,
    Observed,
    Read,
    Seen,
    SettingIs,
    SoFar,
    SupplyIs,
    UnlessChanged,
)
from simengine.scenario.key import Asked, AskedAction, AskedKnowledge, AskedSetting
from simengine.scenario.model import Adjust, Course, Fault, State, Transition, Word
from simengine.scenario.vocabulary import Observation, Setting, Supply, Vocabulary
from simengine.scenario.wanted import OneOf, Steps, Wanted


def condition_words(condition: Condition, vocabulary: Vocabulary) -> str:
    """Tell a condition: ``chest rising, with peak pressure (PIP) at least 25 cmH2O``."""
    match condition:
        case Doing(action):
            return f"{_label(vocabulary.actions[action].label)} running"
        case Done(action):
            return f"the team {vocabulary.actions[action].did}"
        case Given(action, share, over=over):
            label = _label(vocabulary.actions[action].label)
            dose = vocabulary.actions[action].dose
            if over is not None and dose is not None:
                pace = format_range(over, dose.over_unit or "")
                return f"{label} given at a pace of the protocol's dose in {pace}"
            return f"{label} given, {format_range(share, '%')} of the protocol's dose"
        case SettingIs(setting, wanted):
            return _subject_words(vocabulary.settings[setting], wanted)
        case Observed(observation, wanted):
            return _subject_words(vocabulary.observations[observation], wanted)
        case Read(observation, wanted, within_ms):
            words = _subject_words(vocabulary.observations[observation], wanted)
            age = f", at most {format_duration(within_ms)} before" if within_ms is not None else ""
            return f"{words} when last read{age}"
        case Seen(observation):
            return f"{_label(vocabulary.observations[observation].label)} known to the team"
        case SoFar(part, at_least_ms):
            return f"{_part_words(part, vocabulary)} for {format_duration(at_least_ms)} in all"
        case Lately(part, within_ms):
            words = _part_words(part, vocabulary)
            return f"{words} now or in the last {format_duration(within_ms)}"
        case UnlessChanged(setting, direction):
            changed = "lowered" if direction == "lower" else "raised"
            return f"{_label(vocabulary.settings[setting].label)} not {changed}"
        case SupplyIs(supply, wanted):
            return _supply_words(vocabulary.supplies[supply], wanted)
        case FaultIs(fault, status):
            words = {"planted": "not yet put right", "found": "found", "mended": "put right"}[
                status
            ]
            return f"fault “{fault.replace('_', ' ')}” {words}"
        case ClockIs(wanted):
            return f"clock {time_range_words(wanted)}"
        case All(parts):
            return _all_words(parts, vocabulary)
        case AnyOf(parts):
            return " or ".join(_part_words(part, vocabulary) for part in parts)
        case Not(part):
            return _not_words(part, vocabulary)


def transition_words(transition: Transition, vocabulary: Vocabulary) -> str:
    """Tell what a transition waits for, all of it: ``birth``, ``after 75 s``, a condition."""
    parts: list[str] = []
    if transition.on is not None:
        parts.append(transition.on.replace("_", " "))
    if transition.when is not None:
        words = condition_words(transition.when, vocabulary)
        if transition.lasting_ms:
            words += f", held for {format_duration(transition.lasting_ms)}"
        parts.append(words)
    if transition.after_ms is not None:
        parts.append(f"after {format_duration(transition.after_ms)}")
    return ", ".join(parts)


def state_words(state: State, vocabulary: Vocabulary) -> tuple[str, ...]:
    """Tell what a state shows: ``breathing: absent``, ``heart rate: 90 to 70 /min within 30 s``."""
    return tuple(
        f"{_label(vocabulary.observations[name].label)}: " + _shown_words(shown, name, vocabulary)
        for name, shown in state.shows.items()
    )


def _shown_words(shown: Course | Word | str, name: str, vocabulary: Vocabulary) -> str:
    if isinstance(shown, Course):
        return _course_words(shown, name, vocabulary)
    return shown.to if isinstance(shown, Word) else shown


def _course_words(course: Course, name: str, vocabulary: Vocabulary) -> str:
    unit = vocabulary.observations[name].unit or ""
    words = format_quantity(course.to, unit)
    if course.start is not None:
        words = f"{format_quantity(course.start, '')} to {words}"
    elif course.within_ms is not None:
        words = f"to {words}"
    if course.within_ms is not None:
        words += f" within {format_duration(course.within_ms)}"
    settings = dict.fromkeys(
        vocabulary.settings[shift.setting].label
        for shift in course.adjust
        if isinstance(shift, Adjust)
    )
    return words + (
        f" (shifts with {_or([_label(label) for label in settings])})" if settings else ""
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


def range_words(wanted: Range | OneOf, unit: str | None) -> str:
    """Tell what is asked as it was written; a bare value with its tolerance on either side."""
    if isinstance(wanted, OneOf):
        return _or([word.replace("_", " ") for word in wanted.words])
    if not wanted.text:
        return wanted_words(wanted, unit)
    half = round((wanted.high - wanted.low) / 2, 9)
    if 0.0 < half < inf and wanted.bare:
        return f"{wanted.text} (give or take {format_quantity(half, unit or '')})"
    return wanted.text


def asked_words(asked: Asked, vocabulary: Vocabulary, faults: Mapping[str, Fault]) -> str:
    """Tell what a key item asks for, as a title: ``Oxygen at most 40 %``, ``Ventilation``."""
    if isinstance(asked, AskedAction):
        first, *others = (vocabulary.actions[name].label for name in asked.actions)
        return _or([first, *(_label(other) for other in others)])
    if isinstance(asked, AskedKnowledge):
        aloud = " and told aloud" if asked.told else ""
        return f"{vocabulary.observations[asked.observation].label} known{aloud}"
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
    """A label inside a sentence: up to its first comma or colon, without its opening capital."""
    return in_a_sentence(re.split("[,:]", label, maxsplit=1)[0])


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
            return f"before the team {vocabulary.actions[action].did}"
        case Seen(observation):
            return f"{_label(vocabulary.observations[observation].label)} not known to the team"
        case Not(inner):
            return condition_words(inner, vocabulary)
        case AnyOf(parts) if len(parts) > 1 and all(isinstance(inner, Doing) for inner in parts):
            labels = [
                condition_words(inner, vocabulary).removesuffix(" running") for inner in parts
            ]
            return f"neither {' nor '.join(labels)} running"
        case _:
            return f"not ({condition_words(part, vocabulary)})"


def _all_words(parts: Sequence[Condition], vocabulary: Vocabulary) -> str:
    """Tell what must hold together, settings last: "ventilation running, with oxygen …"."""
    running = [part.action for part in parts if isinstance(part, Doing)]
    labels = [_label(vocabulary.actions[name].label) for name in running]
    clauses = [f"{_and(labels)} running"] if labels else []
    clauses += [
        _part_words(part, vocabulary) for part in parts if not isinstance(part, (Doing, SettingIs))
    ]
    settings = [condition_words(part, vocabulary) for part in parts if isinstance(part, SettingIs)]
    if not clauses or not settings:
        return _and(clauses or settings)
    return f"{_and(clauses)}, with {_and(settings)}"


def _part_words(part: Condition, vocabulary: Vocabulary) -> str:
    words = condition_words(part, vocabulary)
    joined = isinstance(part, (All, AnyOf)) and len(part.parts) > 1
    return f"({words})" if joined else words


def _or(words: Sequence[str]) -> str:
    return listed(words, "or")


def _and(words: Sequence[str]) -> str:
    if any(" and " in word or ", " in word for word in words):
        return " and ".join(words)
    return listed(words)
