"""What a transition, a key item or a finding may depend on, as plain data.

Rules of this file:

- A condition is a single clause, or made of parts. A clause says what its truth depends on
  (``reads``), and a condition of parts names them (``parts``).
- ``leaves`` is the one walk over a condition: who asks what a condition names asks its leaves.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import ClassVar, Literal

from simengine.quantities import Range
from simengine.scenario.digest import APART
from simengine.scenario.forms import (
    SHARE_RANGE,
    WANTED,
    WHEN,
    AnyForm,
    Choice,
    Key,
    ListOf,
    MapOf,
    Record,
    names_of,
)
from simengine.scenario.wanted import Steps, Wanted

Name = tuple[str, str]
"""(kind, name), the kind being action, setting, curve, supply, fault, seen or clock."""
CLOCK: Name = ("clock", "")


class Clause:
    """A single clause of a condition. ``names``: the kind of name that it reads."""

    __slots__ = ()
    names: ClassVar[str]

    @property
    def name(self) -> str:
        """The name that it reads, which is its first field."""
        name: str = getattr(self, self.__match_args__[0])  # type: ignore[attr-defined]
        return name

    @property
    def reads(self) -> frozenset[Name]:
        """Every name that its truth depends on; a range that changes by the clock reads that."""
        own = (self.names, self.name)
        by_clock = isinstance(getattr(self, "wanted", None), Steps)
        return frozenset((own, CLOCK) if by_clock else (own,))


@dataclass(frozen=True, slots=True)
class Doing(Clause):
    """A lasting action is in force."""

    names = "action"

    action: str


@dataclass(frozen=True, slots=True)
class Done(Clause):
    """An action was done since the state was entered, or (``ever``) since the start."""

    names = "action"

    action: str
    ever: bool = False


@dataclass(frozen=True, slots=True)
class Given(Clause):
    """So much of a drug was given since the start, as a share of the protocol's dose (%).

    ``share``: its low end of the protocol's low end, its high end of the high end. ``routes``: by
    one of these (empty: by any). ``ranges``: by route, in the unit of the action's dose.
    ``in_parts``: amounts add up; else a single dose is meant. ``over``: instead of the amount, its
    pace, as the time that the least of the protocol's dose would take at it.
    """

    names = "action"

    action: str
    share: Range
    routes: tuple[str, ...]
    in_parts: bool
    ranges: Mapping[str, Range] = field(default_factory=dict, metadata=APART)
    over: Range | None = None


@dataclass(frozen=True, slots=True)
class SettingIs(Clause):
    """A setting lies in a range, or is one of some words."""

    names = "setting"

    setting: str
    wanted: Wanted


@dataclass(frozen=True, slots=True)
class Observed(Clause):
    """The infant's true value lies in a range, or is one of some words."""

    names = "curve"

    observation: str
    wanted: Wanted


@dataclass(frozen=True, slots=True)
class Read(Clause):
    """The team's last reading of an observation was as wanted.

    A reading is the true value at its instant; a sensor that streams reads at every instant.
    ``within_ms``: it is at most this old (``None``: of any age). False before any reading.
    """

    names = "seen"

    observation: str
    wanted: Wanted
    within_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Seen(Clause):
    """An observation has been revealed to the team by then."""

    names = "seen"

    observation: str


@dataclass(frozen=True, slots=True)
class SupplyIs(Clause):
    """A supply's contents (in its unit) lie in a range."""

    names = "supply"

    supply: str
    wanted: Range


@dataclass(frozen=True, slots=True)
class FaultIs(Clause):
    """A fault has this status. A mended fault also counts as found."""

    names = "fault"

    fault: str
    status: Literal["planted", "found", "mended"]


@dataclass(frozen=True, slots=True)
class ClockIs(Clause):
    """The team's clock (ms since time zero) lies in a range; false before it has started."""

    names = "clock"

    wanted: Range

    @property
    def name(self) -> str:
        """There is one clock, which needs no name."""
        return ""


@dataclass(frozen=True, slots=True)
class SoFar:
    """A condition has held for ``at_least_ms`` by now, all its stretches together."""

    looks_back: ClassVar[bool] = True

    condition: Condition
    at_least_ms: int

    @property
    def parts(self) -> tuple[Condition, ...]:
        """What it is made of."""
        return (self.condition,)


@dataclass(frozen=True, slots=True)
class Lately:
    """A condition holds, or has held at some time in the last ``within_ms``."""

    looks_back: ClassVar[bool] = True

    condition: Condition
    within_ms: int

    @property
    def parts(self) -> tuple[Condition, ...]:
        """What it is made of."""
        return (self.condition,)


@dataclass(frozen=True, slots=True)
class UnlessChanged(Clause):
    """A setting has not been changed this way by a meaningful change.

    Looked at over the stretch for which the item's whole condition is asked to last.
    """

    names = "setting"

    setting: str
    direction: Literal["lower", "higher"]


@dataclass(frozen=True, slots=True)
class All:
    """Every part holds."""

    looks_back: ClassVar[bool] = False

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class AnyOf:
    """At least one part holds."""

    looks_back: ClassVar[bool] = False

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Not:
    """The part does not hold."""

    looks_back: ClassVar[bool] = False

    part: Condition

    @property
    def parts(self) -> tuple[Condition, ...]:
        """What it is made of."""
        return (self.part,)


Leaf = (
    Doing
    | Done
    | Given
    | SettingIs
    | Observed
    | Read
    | Seen
    | SupplyIs
    | FaultIs
    | ClockIs
    | UnlessChanged
)
Condition = Leaf | SoFar | Lately | All | AnyOf | Not


NEVER_SO: Condition = AnyOf(())
"""What can't come to pass, such as a fault that is not planted."""
ALWAYS_SO: Condition = All(())


def all_of(parts: Sequence[Condition]) -> Condition:
    """Return that every part holds, in the shortest way."""
    if NEVER_SO in parts:
        return NEVER_SO
    kept = tuple(part for part in parts if part != ALWAYS_SO)
    return kept[0] if len(kept) == 1 else All(kept)


def any_of(parts: Sequence[Condition]) -> Condition:
    """Return that at least one part holds, leaving out what can't."""
    return ALWAYS_SO if ALWAYS_SO in parts else AnyOf(tuple(p for p in parts if p != NEVER_SO))


def negated(part: Condition) -> Condition:
    """Return that a part does not hold."""
    if part == NEVER_SO:
        return ALWAYS_SO
    return NEVER_SO if part == ALWAYS_SO else Not(part)


def leaves(condition: Condition, *, now: bool = False) -> Iterator[Leaf]:
    """Go through the single clauses of a condition.

    ``now``: those alone that look at the instant, and at nothing that went before.
    """
    if isinstance(condition, Clause):
        yield condition
    elif not (now and condition.looks_back):
        for part in condition.parts:
            yield from leaves(part, now=now)


def names_read(condition: Condition) -> set[Name]:
    """Return every name that the truth of a condition depends on."""
    return {name for leaf in leaves(condition) for name in leaf.reads}


# --- how a condition is written -----------------------------------------------------------------

CONDITION = Record(
    "a condition",
    least=1,
    name="condition",
    reads="condition",
    about="All that it names must hold.",
)
DIRECTION = Choice(("lower", "higher"), reads="")
STATUS = Choice(("planted", "found", "mended"), reads="")
_ALONE = "For the marking guide alone."
CONDITION.keys |= {
    "doing": Key(names_of("action"), "Lasting actions that run."),
    "done": Key(names_of("action"), "Done since the state was entered."),
    "done_ever": Key(names_of("action"), "Done since the start."),
    "given": Key(
        MapOf(
            AnyForm(
                "a range of shares, or {of: 50 to 200 %, by: ROUTE}",
                SHARE_RANGE,
                Record(
                    "{of: 50 to 200 %, by: ROUTE} or {over: a range of times}",
                    {
                        "of": Key(SHARE_RANGE, "So much of the protocol's dose …"),
                        "by": Key(names_of("route"), "… by one of these routes"),
                        "over": Key(
                            WANTED,
                            "… or so fast: the time that the protocol's dose would take at the "
                            "pace of one that was given. What was not recorded is never so.",
                        ),
                    },
                    least=1,
                ),
            ),
            "a map of drugs",
            1,
        ),
        "Drugs given since the start, as shares of the protocol's dose: {volume: 50 to 200 %}. "
        "For the engine alone.",
    ),
    "care": Key(names_of("care"), "What the physiology calls by this name holds."),
    "settings": Key(MapOf(WANTED, "a map of settings", 1), "Settings in these ranges or words."),
    "observed": Key(MapOf(WANTED, "a map of observations", 1), "The baby's true values."),
    "seen": Key(names_of("observation"), "Observations that the team knows by then."),
    "read": Key(
        MapOf(
            WANTED,
            "a map of observations, perhaps with 'within'",
            1,
            keys={"within": Key(WHEN, "At most this old; left out: of any age.")},
        ),
        "The team's last reading was so: {heart_rate: at least 60 /min, within: 60 s}. " + _ALONE,
    ),
    "supplies": Key(
        MapOf(WANTED, "a map of supplies", 1), "Contents, in their unit or in %, or: empty."
    ),
    "faults": Key(MapOf(STATUS, "a map of faults", 1), "How far the team has come with each."),
    "clock": Key(WANTED, "The team's clock, e.g. at least 60 s."),
    "any": Key(ListOf(CONDITION, "a list of conditions", 1), "At least one holds."),
    "all": Key(ListOf(CONDITION, "a list of conditions", 1), "Every one holds."),
    "not": Key(CONDITION, "It does not hold."),
    "so_far": Key(
        Record(
            "{of: a condition, at least: a time}",
            {
                "of": Key(CONDITION, "This holds, or has held.", needed=True),
                "at least": Key(WHEN, "For so long in all.", needed=True),
            },
        ),
        "It has held for this long in all by now. " + _ALONE,
    ),
    "lately": Key(
        Record(
            "{of: a condition, within: a time}",
            {
                "of": Key(CONDITION, "This holds, or has held.", needed=True),
                "within": Key(WHEN, "At most so long ago.", needed=True),
            },
        ),
        "It holds, or has held within this time. " + _ALONE,
    ),
    "unless_changed": Key(
        MapOf(DIRECTION, "a map of settings to lower or higher", 1),
        "None of them was changed this way, by a meaningful change, while the rest held. " + _ALONE,
    ),
}
