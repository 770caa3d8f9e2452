"""Why a condition can't hold, in words for the author."""

from __future__ import annotations

from simengine.quantities import Range, format_duration, format_quantity, format_range
from simengine.scenario.checks.implied import conjuncts, disagreement
from simengine.scenario.checks.known import NEVER, Known, contents, earliest
from simengine.scenario.conditions import (
    AnyOf,
    ClockIs,
    Condition,
    Not,
    Observed,
    SettingIs,
    SupplyIs,
)
from simengine.scenario.model import Scenario
from simengine.scenario.wanted import Steps
from simengine.scenario.words import condition_words


def why_never(condition: Condition, known: Known, scenario: Scenario) -> str:
    """Say what of a condition that can't hold is in the way."""
    parts = conjuncts(condition)
    both = disagreement(parts)
    if both is not None:
        first, second = (condition_words(part, scenario.vocabulary) for part in both)
        return f"'{first}' and '{second}' at once"
    for part in parts:
        if earliest(part, known, scenario) == NEVER:
            return _why(part, known, scenario)
    return "one that can't"


def _why(part: Condition, known: Known, scenario: Scenario) -> str:
    no_clock = "no 'start.clock', so no time on the team's clock"
    match part:
        case Observed(_, Steps()) | SettingIs(_, Steps()) if scenario.start.clock is None:
            return no_clock
        case Observed(name):
            return _shown(name, known, scenario)
        case ClockIs():
            if scenario.start.clock is None:
                return no_clock
            return f"a clock that shows {format_duration(round(known.clock_ms))} or more by then"
        case SupplyIs(name):
            if name not in scenario.start.supplies:
                return f"no '{name}' in 'start.supplies', so it is not followed"
            unit = scenario.vocabulary.supplies[name].unit
            return f"'{name}' at {format_range(contents(name, scenario), unit)}"
        case AnyOf(parts):
            return "; ".join(why_never(alternative, known, scenario) for alternative in parts)
        case Not(inner):
            return f"'{condition_words(inner, scenario.vocabulary)}', which always holds there"
    return "one that can't"


def _shown(name: str, known: Known, scenario: Scenario) -> str:
    observation = scenario.vocabulary.observations[name]
    if observation.words:
        words = sorted(known.words.get(name, ()), key=observation.words.index)
        if words:
            return f"'{name}', which is {' or '.join(repr(word) for word in words)} there"
    elif name in known.numbers:
        whole, unit = known.numbers[name].whole, observation.unit or ""
        if whole.low == whole.high:
            return f"'{name}' at {format_quantity(whole.low, unit)} there"
        return f"'{name}', which is {format_range(Range(whole.low, whole.high), unit)} there"
    return f"'{name}', which no state has shown by then"
