"""Taking a condition apart: what it names, what must go on, and when a team could know it.

Rules of this file:

- The ``doing`` and ``settings`` clauses of ``respond``'s condition are needed for it to begin,
  not for it to go on: in what goes on each of them stands as true, also under ``not``.
- A reading counts if the condition was true at it. Of a condition on several observations each
  must have been read; of ``any`` one branch is enough.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from simengine.scenario.conditions import (
    All,
    AnyOf,
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
from simengine.scenario.wanted import Steps


@dataclass(frozen=True, slots=True)
class Names:
    """What a condition names, each in order of first mention."""

    actions: tuple[str, ...] = ()
    settings: tuple[str, ...] = ()
    observed: tuple[str, ...] = ()
    seen: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    only_settings: bool = False


def union_of(many: Sequence[Names]) -> Names:
    """Return the names of all."""
    return Names(
        tuple(dict.fromkeys(name for names in many for name in names.actions)),
        tuple(dict.fromkeys(name for names in many for name in names.settings)),
        tuple(dict.fromkeys(name for names in many for name in names.observed)),
        tuple(dict.fromkeys(name for names in many for name in names.seen)),
        tuple(dict.fromkeys(name for names in many for name in names.faults)),
    )


def names_in(condition: Condition) -> Names:
    """Return what a condition names. ``only_settings``: it names settings and nothing else."""
    leaves = tuple(_leaves(condition))
    return Names(
        tuple(dict.fromkeys(leaf.action for leaf in leaves if isinstance(leaf, Doing | Done))),
        tuple(dict.fromkeys(leaf.setting for leaf in leaves if isinstance(leaf, SettingIs))),
        tuple(dict.fromkeys(leaf.observation for leaf in leaves if isinstance(leaf, Observed))),
        tuple(dict.fromkeys(leaf.observation for leaf in leaves if isinstance(leaf, Seen))),
        tuple(dict.fromkeys(leaf.fault for leaf in leaves if isinstance(leaf, FaultIs))),
        all(isinstance(leaf, SettingIs) for leaf in leaves),
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
        case Doing() | SettingIs() | Not(part=Doing() | SettingIs()):
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
        for leaf in _leaves(condition)
    )


def _leaves(condition: Condition) -> Iterator[Condition]:
    match condition:
        case All(parts=parts) | AnyOf(parts=parts):
            for part in parts:
                yield from _leaves(part)
        case Not(part=part):
            yield from _leaves(part)
        case _:
            yield condition
