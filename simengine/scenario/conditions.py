"""What a transition, a key item or a finding may depend on, as plain data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from simengine.quantities import Range
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
    Doing | Done | SettingIs | Observed | Seen | SupplyIs | FaultIs | ClockIs | All | AnyOf | Not
)
