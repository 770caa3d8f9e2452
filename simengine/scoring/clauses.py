"""Taking a condition apart: what it names, what must go on, and when a team could know it.

Rules of this file:

- The ``doing`` and ``settings`` clauses of ``respond``'s condition are needed for it to begin,
  not for it to go on: in what goes on each of them stands as true, also under ``not``.
- A reading counts if the condition was true at it. Of a condition on several observations each
  must have been read; of ``any`` one branch is enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simengine.quantities import Range
from simengine.scenario.conditions import (
    All,
    AnyOf,
    Condition,
    Doing,
    Done,
    FaultIs,
    Lately,
    Leaf,
    Not,
    Observed,
    Read,
    Seen,
    SettingIs,
    SoFar,
    SupplyIs,
    UnlessChanged,
    leaves,
)
from simengine.scenario.vocabulary import Vocabulary
from simengine.scenario.wanted import OneOf, Steps, Wanted


@dataclass(frozen=True, slots=True)
class Names:
    """What a condition names, each in order of first mention."""

    actions: tuple[str, ...] = ()
    settings: tuple[str, ...] = ()
    observed: tuple[str, ...] = ()
    seen: tuple[str, ...] = ()
    read: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    only_settings: bool = False


def union_of(many: Sequence[Names]) -> Names:
    """Return the names of all."""
    return Names(
        tuple(dict.fromkeys(name for names in many for name in names.actions)),
        tuple(dict.fromkeys(name for names in many for name in names.settings)),
        tuple(dict.fromkeys(name for names in many for name in names.observed)),
        tuple(dict.fromkeys(name for names in many for name in names.seen)),
        tuple(dict.fromkeys(name for names in many for name in names.read)),
        tuple(dict.fromkeys(name for names in many for name in names.faults)),
    )


def names_in(condition: Condition) -> Names:
    """Return what a condition names. ``only_settings``: it names settings and nothing else."""
    clauses = tuple(leaves(condition))

    def named(*kinds: type[Leaf]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(leaf.name for leaf in clauses if isinstance(leaf, kinds)))

    return Names(
        actions=named(Doing, Done),
        settings=named(SettingIs, UnlessChanged),
        observed=named(Observed),
        seen=named(Seen),
        read=named(Read),
        faults=named(FaultIs),
        only_settings=all(isinstance(leaf, SettingIs) for leaf in clauses),
    )


def inward(condition: Condition) -> Condition:
    """Return a condition that says the same, ``not`` standing at single clauses alone."""
    match condition:
        case All(parts=parts):
            return All(tuple(inward(part) for part in parts))
        case AnyOf(parts=parts):
            return AnyOf(tuple(inward(part) for part in parts))
        case Not(part=Not(part=part)):
            return inward(part)
        case Not(part=All(parts=parts)):
            return AnyOf(tuple(inward(Not(part)) for part in parts))
        case Not(part=AnyOf(parts=parts)):
            return All(tuple(inward(Not(part)) for part in parts))
    return condition


def going_on(condition: Condition) -> Condition | None:
    """Return what must go on holding once an ``inward`` condition has begun; ``None``: nothing."""
    match condition:
        case Doing() | SettingIs() | UnlessChanged() | Not(part=Doing() | SettingIs()):
            return None
        case All(parts=parts):
            left = [rest for part in parts if (rest := going_on(part)) is not None]
            if not left:
                return None
            return left[0] if len(left) == 1 else All(tuple(left))
        case AnyOf(parts=parts):
            rests = [rest for part in parts if (rest := going_on(part)) is not None]
            return AnyOf(tuple(rests)) if len(rests) == len(parts) else None
    return condition


def is_fixed(condition: Condition) -> bool:
    """Whether no recorded time can change where a condition holds: curves and supplies alone."""
    return all(
        isinstance(leaf, SupplyIs)
        or (isinstance(leaf, Observed) and not isinstance(leaf.wanted, Steps))
        for leaf in leaves(condition)
    )


def actions_needed(condition: Condition) -> frozenset[str]:
    """Return actions without each of which a condition never holds."""
    match condition:
        case Doing(action) | Done(action):
            return frozenset((action,))
        case All(parts):
            return frozenset(name for part in parts for name in actions_needed(part))
        case SoFar(part) | Lately(part):
            return actions_needed(part)
    return frozenset()


def rests_on_absence(condition: Condition) -> bool:
    """Whether a condition holds because something is not in the record.

    That is ``not`` of what is done, now or so far; what was not done ``lately`` excuses alone.
    """
    inside = inward(condition)
    return any(_is_absence(part) for part in _clauses(inside))


def rests_on_known(condition: Condition, vocabulary: Vocabulary) -> Condition:
    """Return a condition that says the same, but of values that are known alone.

    ``not`` of a setting or of an observation is then false, too, while its value is not known.
    """
    match inward(condition):
        case All(parts):
            return All(tuple(rests_on_known(part, vocabulary) for part in parts))
        case AnyOf(parts):
            return AnyOf(tuple(rests_on_known(part, vocabulary) for part in parts))
        case Not(SettingIs(name)) as clause:
            return All((clause, SettingIs(name, _any_value(vocabulary.settings[name].words))))
        case Not(Observed(name)) as clause:
            words = vocabulary.observations[name].words
            return All((clause, Observed(name, _any_value(words))))
        case same:
            return same


def looks_now(condition: Condition) -> bool:
    """Whether a clause looks at the baby at the instant itself, not at what went before."""
    return any(
        isinstance(clause.part if isinstance(clause, Not) else clause, Observed)
        for clause in _clauses(inward(condition))
    )


def _clauses(condition: Condition) -> tuple[Condition, ...]:
    match condition:
        case All(parts) | AnyOf(parts):
            return tuple(clause for part in parts for clause in _clauses(part))
    return (condition,)


def _is_absence(clause: Condition) -> bool:
    match clause:
        case Not(Doing() | Done()):
            return True
        case Not(SoFar(part)):
            return any(isinstance(leaf, Doing | Done) for leaf in leaves(part))
        case SoFar(part):
            return rests_on_absence(part)
    return False


def _any_value(words: tuple[str, ...]) -> Wanted:
    """What any known value is."""
    return OneOf(words) if words else Range()
