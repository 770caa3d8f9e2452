"""What can be known of the baby while a state lasts, and when a condition can hold there.

Rules of this file:

- It is a picture that is too wide rather than too narrow: what it excludes can't happen, and what
  it allows may not. The team may do anything and set anything that the vocabulary calls plausible,
  at any time; events are recorded as they happen; nobody moves the baby on by hand.
- A number lies between what it was at entry and its target; a target that follows a setting lies
  anywhere that the setting can take it.
- ``earliest`` is never later than the first instant at which a condition can hold; ``NEVER`` is
  said only of what can't hold. ``surely`` is said only of what holds all the time.
- A threshold at a target is left to the check of thresholds: here it can be reached at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import floor, inf, log
from typing import NamedTuple

from simengine.quantities import Range
from simengine.quantities.ranges import CLOSE
from simengine.scenario.checks.implied import conjuncts, disagreement, meet
from simengine.scenario.conditions import (
    All,
    AnyOf,
    ClockIs,
    Condition,
    Not,
    Observed,
    Seen,
    SettingIs,
    SupplyIs,
)
from simengine.scenario.model import Adjust, Course, Instead, Limit, Scenario, Shift, State, Word
from simengine.scenario.wanted import OneOf, Steps, Wanted

NEVER = inf
_LN20 = log(20.0)


class Moves(NamedTuple):
    """Where a number can be: its value at entry, its target, and the shortest ``within`` (ms)."""

    entry: Range
    target: Range
    within_ms: float

    @property
    def whole(self) -> Range:
        """Everywhere that it can be while the state lasts."""
        return hull(self.entry, self.target)


class Known(NamedTuple):
    """What can be so in a state.

    ``words``: what each observation told in words can be; ``shown``: what surely has a value.
    ``started``: the team's clock surely runs, and at entry shows ``clock_ms`` or more.
    ``since_ms``: the state is entered this long after the start, or later.
    """

    numbers: Mapping[str, Moves]
    words: Mapping[str, frozenset[str]]
    shown: frozenset[str]
    started: bool = False
    clock_ms: float = 0.0
    since_ms: float = 0.0

    def or_else(self, other: Known) -> Known:
        """Return what is so if one of both is so."""
        numbers = dict(self.numbers)
        for name, moves in other.numbers.items():
            mine = numbers.get(name)
            numbers[name] = moves if mine is None else _either(mine, moves)
        words = dict(self.words)
        for name, some in other.words.items():
            words[name] = words.get(name, frozenset()) | some
        return Known(
            numbers,
            words,
            self.shown & other.shown,
            self.started and other.started,
            min(self.clock_ms, other.clock_ms),
            min(self.since_ms, other.since_ms),
        )


def hull(one: Range, other: Range) -> Range:
    """Return the least range that holds both (ends included)."""
    return Range(min(one.low, other.low), max(one.high, other.high))


def _either(first: Moves, other: Moves) -> Moves:
    return Moves(
        hull(first.entry, other.entry),
        hull(first.target, other.target),
        min(first.within_ms, other.within_ms),
    )


NOTHING = Known({}, {}, frozenset())


def shown_in(state: State, before: Known, scenario: Scenario) -> Known:
    """Return what is so in a state that is entered when ``before`` is so."""
    numbers = {
        name: Moves(moves.whole, moves.target, moves.within_ms)
        for name, moves in before.numbers.items()
    }
    words = dict(before.words)
    for name, shown in state.shows.items():
        if isinstance(shown, str):
            words[name] = frozenset((shown,))
        elif isinstance(shown, Word):
            words[name] = frozenset((shown.to, *(shift.word for shift in shown.adjust)))
        else:
            numbers[name] = _course(shown, numbers.get(name), name in before.shown, scenario)
    shown_now = before.shown | state.shows.keys()
    return Known(numbers, words, shown_now, before.started, before.clock_ms, before.since_ms)


def _course(course: Course, before: Moves | None, sure: bool, scenario: Scenario) -> Moves:
    target = Range(course.to, course.to)
    limits: list[Limit] = []
    for adjust in course.adjust:
        if isinstance(adjust, Limit):
            limits.append(adjust)
            continue
        if isinstance(adjust, Instead):
            continue
        shift = adjust.by if isinstance(adjust, Shift) else _shift(adjust, scenario)
        target = Range(target.low + min(0.0, shift), target.high + max(0.0, shift))
    for limit in limits:
        target = Range(min(target.low, limit.high), max(target.high, limit.low))
    if course.within_ms is None:
        return Moves(target, target, 0.0)
    if course.start is not None:
        entry = Range(course.start, course.start)
    elif before is None:
        entry = target
    else:
        entry = before.entry if sure else hull(before.entry, target)
    return Moves(entry, target, float(course.within_ms))


def _shift(adjust: Adjust, scenario: Scenario) -> float:
    """The furthest that a setting can shift a target."""
    plausible = scenario.vocabulary.settings[adjust.setting].plausible or Range()
    as_found = scenario.start.settings.get(adjust.setting)
    if isinstance(as_found, float):
        plausible = hull(plausible, Range(as_found, as_found))
    if adjust.side == "above":
        beyond = plausible.high - adjust.reference
    else:
        beyond = adjust.reference - plausible.low
    return max(0.0, beyond) / adjust.per * adjust.by if adjust.by else 0.0


def earliest(condition: Condition, known: Known, scenario: Scenario) -> float:
    """Return how long after the entry a condition can hold at the earliest (ms)."""
    match condition:
        case All():
            parts = conjuncts(condition)
            if disagreement(parts) is not None:
                return NEVER
            return max((earliest(part, known, scenario) for part in parts), default=0.0)
        case AnyOf(parts):
            return min((earliest(part, known, scenario) for part in parts), default=NEVER)
        case Not(part):
            return NEVER if surely(part, known, scenario) else 0.0
        case Observed(name, wanted):
            return min(
                (_observed(name, band, known) for band in _wanted(wanted, known, scenario)),
                default=NEVER,
            )
        case SettingIs(_, wanted):
            return 0.0 if any(True for _ in _wanted(wanted, known, scenario)) else NEVER
        case SupplyIs(name, wanted):
            return 0.0 if meet(contents(name, scenario), wanted) else NEVER
        case ClockIs(wanted):
            late = known.clock_ms > wanted.high or (
                wanted.high_open and known.clock_ms == wanted.high
            )
            return NEVER if scenario.start.clock is None or late else 0.0
        case _:
            return 0.0


def surely(condition: Condition, known: Known, scenario: Scenario) -> bool:
    """Whether a condition holds as long as the state lasts, whatever the team does."""
    match condition:
        case All(parts):
            return all(surely(part, known, scenario) for part in parts)
        case AnyOf(parts):
            return any(surely(part, known, scenario) for part in parts)
        case Not(part):
            return earliest(part, known, scenario) == NEVER
        case Observed(name, OneOf(allowed)):
            return name in known.shown and known.words.get(name, frozenset()) <= set(allowed)
        case Observed(name, Range() as wanted):
            moves = known.numbers.get(name)
            if moves is None or name not in known.shown:
                return False
            return wanted.contains(moves.whole.low) and wanted.contains(moves.whole.high)
        case Seen(name):
            return not scenario.vocabulary.observations[name].revealed_by
        case _:
            return False


def contents(supply: str, scenario: Scenario) -> Range:
    """Return what a supply can hold in the course of a session; an empty range if not followed."""
    if supply not in scenario.start.supplies:
        return Range(inf, -inf)
    entry, at_start = scenario.vocabulary.supplies[supply], scenario.start.supplies[supply]
    high = entry.capacity if entry.refilled_by is not None else at_start
    return Range(0.0 if entry.drains else min(at_start, high), max(at_start, high))


def _wanted(wanted: Wanted, known: Known, scenario: Scenario) -> Iterator[Range | OneOf]:
    """Go through what is wanted by a clock that shows ``known.clock_ms`` or more."""
    if not isinstance(wanted, Steps):
        yield wanted
        return
    if scenario.start.clock is None:
        return
    for number, (_, row) in enumerate(wanted.rows):
        following = wanted.rows[number + 1 : number + 2]
        if not following or following[0][0] > known.clock_ms:
            yield row


def _observed(name: str, wanted: Range | OneOf, known: Known) -> float:
    if isinstance(wanted, OneOf):
        return 0.0 if known.words.get(name, frozenset()) & set(wanted.words) else NEVER
    moves = known.numbers.get(name)
    if moves is None or not _touch(moves.whole, wanted):
        return NEVER
    if _touch(moves.entry, wanted):
        return 0.0
    if wanted.low > moves.entry.high:
        return _travel(moves.entry.high, wanted.low, moves.target.high, moves.within_ms)
    return _travel(-moves.entry.low, -wanted.high, -moves.target.low, moves.within_ms)


def _touch(range_: Range, other: Range) -> bool:
    return meet(range_, Range(other.low, other.high))


def _travel(start: float, level: float, target: float, within_ms: float) -> float:
    """The time that a rising curve takes to a level, rounded down to whole ms."""
    if target == inf or target - level <= CLOSE * abs(level):
        return 0.0
    return float(floor(within_ms / _LN20 * log((target - start) / (target - level))))
