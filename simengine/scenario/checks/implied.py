"""What one condition says about another, whatever the team does.

Rules of this file:

- Only a sure answer is a yes: ``implies`` and ``contradict`` say no where they can't tell.
- What is not known makes a clause false, so a narrower range implies a wider one.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import inf

from simengine.quantities import Range
from simengine.quantities.ranges import CLOSE
from simengine.scenario.conditions import (
    All,
    AnyOf,
    ClockIs,
    Condition,
    Done,
    FaultIs,
    Not,
    Observed,
    SettingIs,
    SupplyIs,
)
from simengine.scenario.wanted import OneOf, Wanted


def implies(one: Condition, other: Condition) -> bool:
    """Whether ``other`` holds whenever ``one`` does."""
    if one == other:
        return True
    match one, other:
        case _, All(parts):
            return all(implies(one, part) for part in parts)
        case AnyOf(parts), _:
            return all(implies(part, other) for part in parts)
        case All(parts), _ if any(implies(part, other) for part in parts):
            return True
        case _, AnyOf(parts):
            return any(implies(one, part) for part in parts)
        case Not(part), Not(wider):
            return implies(wider, part)
        case SettingIs(name, wanted), SettingIs(same, wider):
            return name == same and within(wanted, wider)
        case Observed(name, wanted), Observed(same, wider):
            return name == same and within(wanted, wider)
        case SupplyIs(name, wanted), SupplyIs(same, wider):
            return name == same and within(wanted, wider)
        case ClockIs(wanted), ClockIs(wider):
            return within(wanted, wider)
        case Done(name), Done(same, True):
            return name == same
        case FaultIs(name, "mended"), FaultIs(same, "found"):
            return name == same
    return False


def contradict(one: Condition, other: Condition) -> bool:
    """Whether two single clauses (or ``Not`` of one) can never hold together."""
    match one, other:
        case Not(part), _:
            return implies(other, part)
        case _, Not(part):
            return implies(one, part)
        case SettingIs(name, wanted), SettingIs(same, also):
            return name == same and not meet(wanted, also)
        case Observed(name, wanted), Observed(same, also):
            return name == same and not meet(wanted, also)
        case SupplyIs(name, wanted), SupplyIs(same, also):
            return name == same and not meet(wanted, also)
        case ClockIs(wanted), ClockIs(also):
            return not meet(wanted, also)
    return False


def disagreement(parts: Sequence[Condition]) -> tuple[Condition, Condition] | None:
    """Return two of several clauses that can never hold together, if the first hundred have any."""
    for part, other in combinations(parts[:100], 2):
        if contradict(part, other):
            return part, other
    return None


def conjuncts(condition: Condition) -> list[Condition]:
    """Return the parts of a condition that must all hold, ``all`` within ``all`` laid flat."""
    if isinstance(condition, All):
        return [conjunct for part in condition.parts for conjunct in conjuncts(part)]
    return [condition]


def meet(one: Wanted, other: Wanted) -> bool:
    """Whether something can be as both want it; yes where that depends on the clock."""
    if isinstance(one, OneOf) and isinstance(other, OneOf):
        return bool(set(one.words) & set(other.words))
    if isinstance(one, Range) and isinstance(other, Range):
        low, high = max(one.low, other.low), min(one.high, other.high)
        if low == high:
            ends = [(one.low, one.low_open), (one.high, one.high_open)]
            ends += [(other.low, other.low_open), (other.high, other.high_open)]
            return (low, True) not in ends
        return low < high or low - high <= CLOSE * abs(low) < inf
    return True


def within(inner: Wanted, outer: Wanted) -> bool:
    """Whether all that ``inner`` wants is wanted by ``outer``; no where the clock decides."""
    if isinstance(inner, OneOf) and isinstance(outer, OneOf):
        return set(inner.words) <= set(outer.words)
    if isinstance(inner, Range) and isinstance(outer, Range):
        low = inner.low > outer.low or (
            inner.low == outer.low and (inner.low_open or not outer.low_open)
        )
        high = inner.high < outer.high or (
            inner.high == outer.high and (inner.high_open or not outer.high_open)
        )
        return low and high
    return inner == outer
