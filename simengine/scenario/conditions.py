"""What a transition, a key item or a finding may depend on, as plain data.

``leaves`` is the one walk over a condition: who asks what a condition names asks its leaves.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

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
from simengine.scenario.wanted import Wanted


@dataclass(frozen=True, slots=True)
class Doing:
    """A lasting action is in force."""

    action: str


@dataclass(frozen=True, slots=True)
class Done:
    """An action was done since the state was entered, or (``ever``) since the start."""

    action: str
    ever: bool = False


@dataclass(frozen=True, slots=True)
class Given:
    """So much of a drug was given since the start, as a share of the protocol's dose (%).

    ``share``: its low end of the protocol's low end, its high end of the high end. ``routes``: by
    one of these (empty: by any). ``ranges``: by route, in the unit of the action's dose.
    ``in_parts``: amounts add up; else a single dose is meant.
    """

    action: str
    share: Range
    routes: tuple[str, ...]
    in_parts: bool
    ranges: Mapping[str, Range] = field(default_factory=dict, metadata=APART)


@dataclass(frozen=True, slots=True)
class SettingIs:
    """A setting lies in a range, or is one of some words."""

    setting: str
    wanted: Wanted


@dataclass(frozen=True, slots=True)
class Observed:
    """The infant's true value lies in a range, or is one of some words."""

    observation: str
    wanted: Wanted


@dataclass(frozen=True, slots=True)
class Read:
    """The team's last reading of an observation was as wanted.

    A reading is the true value at its instant; a sensor that streams reads at every instant.
    ``within_ms``: it is at most this old (``None``: of any age). False before any reading.
    """

    observation: str
    wanted: Wanted
    within_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Seen:
    """An observation has been revealed to the team by then."""

    observation: str


@dataclass(frozen=True, slots=True)
class SupplyIs:
    """A supply's contents (in its unit) lie in a range."""

    supply: str
    wanted: Range


@dataclass(frozen=True, slots=True)
class FaultIs:
    """A fault has this status. A mended fault also counts as found."""

    fault: str
    status: Literal["planted", "found", "mended"]


@dataclass(frozen=True, slots=True)
class ClockIs:
    """The team's clock (ms since time zero) lies in a range; false before it has started."""

    wanted: Range


@dataclass(frozen=True, slots=True)
class SoFar:
    """A condition has held for ``at_least_ms`` by now, all its stretches together."""

    condition: Condition
    at_least_ms: int


@dataclass(frozen=True, slots=True)
class Lately:
    """A condition holds, or has held at some time in the last ``within_ms``."""

    condition: Condition
    within_ms: int


@dataclass(frozen=True, slots=True)
class UnlessChanged:
    """A setting has not been changed this way by a meaningful change.

    Looked at over the stretch for which the item's whole condition is asked to last.
    """

    setting: str
    direction: Literal["lower", "higher"]


@dataclass(frozen=True, slots=True)
class All:
    """Every part holds."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class AnyOf:
    """At least one part holds."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Not:
    """The part does not hold."""

    part: Condition


Condition = (
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
    | SoFar
    | Lately
    | UnlessChanged
    | All
    | AnyOf
    | Not
)


def parts_of(condition: Condition) -> tuple[Condition, ...]:
    """Return the conditions that a condition is made of; none for a single clause."""
    match condition:
        case All(parts) | AnyOf(parts):
            return parts
        case Not(part) | SoFar(part) | Lately(part):
            return (part,)
    return ()


def leaves(condition: Condition) -> Iterator[Condition]:
    """Go through the single clauses of a condition."""
    parts = parts_of(condition)
    if not parts and not isinstance(condition, All | AnyOf):
        yield condition
    for part in parts:
        yield from leaves(part)


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
                    "{of: 50 to 200 %, by: ROUTE}",
                    {
                        "of": Key(SHARE_RANGE, "So much of the protocol's dose …", needed=True),
                        "by": Key(names_of("route"), "… by one of these routes.", needed=True),
                    },
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
