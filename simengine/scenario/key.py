"""The marking guide of a scenario as plain data: the six kinds of key item."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from simengine.scenario.conditions import Condition
from simengine.scenario.digest import SHOWN
from simengine.scenario.wanted import Wanted


@dataclass(frozen=True, slots=True)
class AskedAction:
    """A performance of an action is asked, or of any one of several.

    ``action`` is the one named first: it gives phase, title and id. ``others``: any of these
    serves as well.
    """

    action: str
    others: tuple[str, ...] = ()

    @property
    def actions(self) -> tuple[str, ...]:
        """All actions that serve, the one named first coming first."""
        return (self.action, *self.others)


@dataclass(frozen=True, slots=True)
class AskedSetting:
    """A change of a setting is asked: into ``to``, or ``direction`` by a meaningful change."""

    setting: str
    to: Wanted | None = None
    direction: Literal["lower", "higher"] | None = None


@dataclass(frozen=True, slots=True)
class AskedFault:
    """A planted fault is to be found, or mended."""

    fault: str
    status: Literal["found", "mended"]


@dataclass(frozen=True, slots=True)
class AskedKnowledge:
    """That the team knows an observation is asked. ``told``: and has said it, near the truth."""

    observation: str
    told: bool = False


Asked = AskedAction | AskedSetting | AskedFault | AskedKnowledge


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


@dataclass(frozen=True, slots=True)
class GivenDose:
    """Any action is done that carries a dose, and the dose is wrong for any baby.

    ``beyond``: the amount is above this many times the high end that the protocol's ``doses`` give
    for its route. ``None``: the protocol's ``doses`` give the action no place.
    """

    beyond: float | None = None


Way = Literal["done", "simulated", "said", "ordered", "attempted"]
Importance = Literal["essential", "important", "helpful"]
Ahead = Literal["counts", "early"]
Kind = Literal["expect", "respond", "repeat", "keep", "order", "avoid"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """What every key item has. ``during``: state names, empty for the whole session."""

    id: str
    title: str = field(metadata=SHOWN)
    importance: Importance = "important"
    objective: str | None = None
    role: str | None = None
    why: str = field(default="", metadata=SHOWN)
    reference: str | None = field(default=None, metadata=SHOWN)
    accepts: tuple[Way, ...] = ("done", "simulated")
    during: tuple[str, ...] = ()
    cues_allowed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Expect(Item):
    """Something is asked within a window from an anchor.

    ``must``: settings that must not be wholly off for an outcome. ``ahead``: how what was done
    before the anchor is taken (``None``: by the rules of scoring).
    """

    asked: Asked
    anchor: Anchor
    ideal_ms: int
    latest_ms: int
    not_before_ms: int | None = None
    each: bool = False
    must_reach: bool = False
    until: tuple[str, ...] = ()
    settings: Mapping[str, Wanted] = field(default_factory=dict)
    must: tuple[str, ...] = ()
    dose: DoseAsked | None = None
    settle_ms: int = 10_000
    ahead: Ahead | None = None
    as_found_counts: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Respond(Item):
    """Something is asked each time that a condition has held for a while.

    ``must``, ``ahead``: as for ``Expect``, the condition's beginning being the anchor.
    """

    asked: Asked
    whenever: Condition
    lasting_ms: int
    ideal_ms: int
    latest_ms: int
    unseen: bool = False
    even_if_resolved: bool = False
    settings: Mapping[str, Wanted] = field(default_factory=dict)
    must: tuple[str, ...] = ()
    dose: DoseAsked | None = None
    settle_ms: int = 10_000
    ahead: Ahead | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat(Item):
    """An action is asked again and again, or that the team knows an observation.

    ``spoken``: a performance counts only with the value told, unless a sensor streams it.
    """

    asked: AskedAction | AskedKnowledge
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
    """First performances are asked in this order; each member is any one of some actions."""

    members: tuple[tuple[str, ...], ...]

    @property
    def actions(self) -> tuple[str, ...]:
        """All actions named, in order."""
        return tuple(action for member in self.members for action in member)


@dataclass(frozen=True, slots=True, kw_only=True)
class Avoid(Item):
    """Not advised here: an action, a dose, or a condition that holds for ``lasting_ms``.

    ``lasting_ms``: ``None`` takes the default of the rules of scoring. ``only_while``: it counts
    only while this holds as well. ``begun``: an action counts at its start, judged there, however
    long it then runs. ``once``: however often it occurs it counts once. ``never``: it is unsafe in
    any baby, and comes from the protocol, with its ``source``.
    """

    what: AskedAction | GivenDose | Condition
    lasting_ms: int | None = None
    only_while: Condition | None = None
    begun: bool = False
    once: bool = False
    never: bool = False
    source: str = field(default="", metadata=SHOWN)

    @property
    def condition(self) -> Condition | None:
        """What must not hold; ``None`` where an action or a dose is meant."""
        return None if isinstance(self.what, AskedAction | GivenDose) else self.what

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

    method: str = field(metadata=SHOWN)
    panel: str = field(metadata=SHOWN)
    date: str = field(metadata=SHOWN)
    error: float | None = field(default=None, metadata=SHOWN)
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
