"""The marking guide of a scenario as plain data: the six kinds of key item."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from simengine.scenario.conditions import Condition
from simengine.scenario.wanted import Wanted


@dataclass(frozen=True, slots=True)
class AskedAction:
    """A performance of an action is asked."""

    action: str


@dataclass(frozen=True, slots=True)
class AskedSetting:
    """A change of a setting is asked: into ``to``, or ``direction`` by at least its step."""

    setting: str
    to: Wanted | None = None
    direction: Literal["lower", "higher"] | None = None


@dataclass(frozen=True, slots=True)
class AskedFault:
    """A planted fault is to be found, or mended."""

    fault: str
    status: Literal["found", "mended"]


Asked = AskedAction | AskedSetting | AskedFault


@dataclass(frozen=True, slots=True)
class Anchor:
    """What a window is counted from.

    ``clock``: the event that starts the team's clock (written ``from: birth``, its own name);
    ``start``; a ``state``, an ``action`` or a ``fault`` by ``name``.
    """

    kind: Literal["clock", "start", "state", "action", "fault"]
    name: str | None = None


@dataclass(frozen=True, slots=True)
class DoseAsked:
    """The dose that an item asks for, in the unit of the action's ``Dose``.

    ``by_route`` chooses the range by the route recorded and takes the place of ``amount``;
    ``routes`` are the routes allowed (empty: any).
    """

    amount: Wanted | None = None
    by_route: Mapping[str, Wanted] = field(default_factory=dict)
    routes: tuple[str, ...] = ()
    strength: Wanted | None = None
    flush: Wanted | None = None


Way = Literal["done", "simulated", "said", "ordered", "attempted"]
Importance = Literal["essential", "important", "helpful"]
Kind = Literal["expect", "respond", "repeat", "keep", "order", "avoid"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """What every key item has. ``during``: state names, empty for the whole session."""

    id: str
    title: str
    importance: Importance = "important"
    objective: str | None = None
    role: str | None = None
    why: str = ""
    reference: str | None = None
    accepts: tuple[Way, ...] = ("done", "simulated")
    during: tuple[str, ...] = ()
    cues_allowed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Expect(Item):
    """Something is asked within a window from an anchor."""

    asked: Asked
    anchor: Anchor
    ideal_ms: int
    latest_ms: int
    not_before_ms: int | None = None
    each: bool = False
    must_reach: bool = False
    until: tuple[str, ...] = ()
    settings: Mapping[str, Wanted] = field(default_factory=dict)
    dose: DoseAsked | None = None
    settle_ms: int = 10_000
    as_found_counts: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Respond(Item):
    """Something is asked each time that a condition has held for a while."""

    asked: Asked
    whenever: Condition
    lasting_ms: int
    ideal_ms: int
    latest_ms: int
    unseen: bool = False
    even_if_resolved: bool = False
    settings: Mapping[str, Wanted] = field(default_factory=dict)
    dose: DoseAsked | None = None
    settle_ms: int = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat(Item):
    """An action is asked again and again.

    ``spoken``: a performance counts only with the value told, unless a sensor streams it.
    """

    action: str
    every_ms: int
    grace_ms: int = 0
    spoken: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Keep(Item):
    """A condition is to hold for a share of the time."""

    condition: Condition
    share: float = 1.0
    as_found_counts: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Order(Item):
    """First performances are asked in this order."""

    actions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Avoid(Item):
    """Not advised here: an action, or a condition that holds for ``lasting_ms``."""

    what: AskedAction | Condition
    lasting_ms: int = 0
    deduct: float = 0.05
    at_most: float | None = None
    stops_pass: bool = False


IMPORTANCE_WEIGHTS: Mapping[Importance, float] = {
    "essential": 3.0,
    "important": 2.0,
    "helpful": 1.0,
}
"""What an item weighs unless the scenario says otherwise."""

KeyItem = Expect | Respond | Repeat | Keep | Order | Avoid


@dataclass(frozen=True, slots=True)
class Standard:
    """How the pass mark was set. Without it no outcome is proposed.

    ``demonstration``: nobody has set it. Simulated teams are held to it, and people never.
    """

    method: str
    panel: str
    date: str
    error: float | None = None
    demonstration: bool = False


@dataclass(frozen=True, slots=True)
class Scoring:
    """Weights and standard of a scenario. Fractions of 1; ``recording_sd_ms`` in ms."""

    weights: Mapping[Importance, float]
    pass_mark: float | None = None
    standard: Standard | None = None
    essential_floor: float = 0.5
    recording_sd_ms: float = 4_400.0

    @property
    def is_set(self) -> bool:
        """Whether a panel has set the pass mark, so that an outcome can be signed."""
        return (
            self.pass_mark is not None
            and self.standard is not None
            and not self.standard.demonstration
        )
