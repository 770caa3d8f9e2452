"""The scenario, vocabulary and protocol as plain data.

Rules of this file:

- Everything here is frozen and compares by value. Nothing here reads a file or the clock.
- Every number has been converted on the way in: a setting, observation, supply or dose is held
  in the unit that its vocabulary entry names; a duration or an instant is whole milliseconds
  (``_ms``); a share is a fraction of 1.
- A name in a field (``action``, ``setting``, ``state`` …) has been checked to exist.
- ``None`` means "not given", never "unknown".
- A field that neither the engine nor the scorer reads is marked so (``simengine.scenario.digest``).
- ``{protocol: NAME}`` has been replaced by the range (or ``Steps``) that the chosen protocol gives
  for this infant; the range's ``protocol`` field says so. Under another protocol or for another
  infant the scenario is loaded again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from simengine.quantities import Quantity, Range
from simengine.quantities.wording import count
from simengine.scenario.conditions import Condition
from simengine.scenario.digest import APART, LABELS, SHOWN
from simengine.scenario.key import Avoid, KeyItem, Scoring
from simengine.scenario.protocol import Protocol
from simengine.scenario.vocabulary import Vocabulary
from simengine.scenario.wanted import Value, Wanted

Trend = Literal["improving", "deteriorating", "stable"]


@dataclass(frozen=True, slots=True)
class Adjust:
    """Shifts a target by ``by`` for each ``per`` that ``setting`` lies beyond ``reference``.

    ``side`` is ``above`` or ``below``; on the other side, or while the setting is not known,
    there is no shift.
    """

    setting: str
    side: Literal["above", "below"]
    reference: float
    per: float
    by: float


@dataclass(frozen=True, slots=True)
class Course:
    """A numeric observation in a state: a first-order approach to ``to``.

    ``start``: the value at entry (``None``: the value that it already has; ``to`` if none).
    ``within_ms``: 95 % of the way by then (``None``: at once).
    """

    to: float
    start: float | None = None
    within_ms: int | None = None
    adjust: tuple[Adjust, ...] = ()


@dataclass(frozen=True, slots=True)
class Transition:
    """A way out of a state. At least one of ``on``, ``when``, ``after_ms`` is given.

    Where several are given all are asked: ``when`` held for ``lasting_ms`` and ``after_ms``
    since the entry; ``on`` with ``when`` asks that ``when`` holds as the event comes.
    ``words`` say it to a facilitator, if the scenario gives them.
    """

    index: int
    to: str
    on: str | None = None
    when: Condition | None = None
    lasting_ms: int = 0
    after_ms: int | None = None
    words: str = field(default="", metadata=SHOWN)


@dataclass(frozen=True, slots=True)
class State:
    """One state of the infant. ``shows`` holds a ``Course`` or a word for each observation.

    ``declared``: the team brings it about by calling its work done.
    """

    name: str
    title: str = field(metadata=SHOWN)
    shows: Mapping[str, Course | str]
    next: tuple[Transition, ...]
    ends: bool = False
    linger_ms: int = 0
    declared: bool = False
    trend: Trend | None = field(default=None, metadata=SHOWN)


@dataclass(frozen=True, slots=True)
class MendedBySetting:
    """A fault is put right when this setting comes into this range."""

    setting: str
    wanted: Wanted


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault of the equipment. ``mended_by``: an action's name, or a setting's range."""

    name: str
    shows: str = field(metadata=SHOWN)
    mended_by: str | MendedBySetting | None
    plant: str = field(default="", metadata=SHOWN)
    planted_at_start: bool = True


@dataclass(frozen=True, slots=True)
class Infant:
    """The baby expected. ``gestation_days`` completed days; ``weight_g`` grams."""

    gestation_days: float
    weight_g: float
    words: str = field(default="", metadata=SHOWN)


@dataclass(frozen=True, slots=True)
class Start:
    """How the session begins. ``supplies`` in each supply's unit; ``doing``: already in force.

    ``as_found``: settings that stand on a gauge of another unit, as it shows them.
    """

    state: str
    clock: str | None
    settings: Mapping[str, Value]
    supplies: Mapping[str, float]
    faults: Mapping[str, Fault]
    doing: tuple[str, ...] = ()
    as_found: Mapping[str, Quantity] = field(default_factory=dict, metadata=SHOWN)


@dataclass(frozen=True, slots=True)
class PlannedCue:
    """A prompt that the facilitator may give, and the action that it prompts."""

    text: str
    prompts: str | None


@dataclass(frozen=True, slots=True)
class Scenario:
    """A scenario under one protocol, for one infant: what the engine and the scorer run on.

    ``key_times``: ids of the key items whose times the debrief tabulates, in order.
    ``returns_cot``: it can be closed only after the cot is back in service.
    ``silent_clock``: timekeeping is scored, so the tool's own clock marks are silent.
    ``never``: what is unsafe in any baby under this protocol, for this infant, those set aside in
    ``waives`` (name: reason) left out. ``doses``: for an action and a route the protocol's range
    for this infant, in the unit of the action's ``Dose``; ``strengths``: for an action the
    protocol's, in ``strength_unit``. ``covers``: for a role the vocabulary's roles whose work it
    is said to do, see ``simengine.scenario.whose``. ``digest``, ``wording``: what it means
    with its vocabulary, and what their words are; the same under any protocol, for any baby.
    """

    id: str
    version: str = field(metadata=SHOWN)
    title: str = field(metadata=SHOWN)
    vocabulary: Vocabulary = field(metadata=APART)
    protocol: Protocol = field(metadata=APART)
    infant: Infant
    planned_ms: int = field(metadata=SHOWN)
    briefing: Mapping[str, str] = field(metadata=SHOWN)
    roles: Mapping[str, str] = field(metadata=LABELS)
    objectives: Mapping[str, str] = field(metadata=LABELS)
    start: Start
    states: Mapping[str, State]
    key: tuple[KeyItem, ...]
    scoring: Scoring
    cues: tuple[PlannedCue, ...] = field(metadata=SHOWN)
    references: Mapping[str, str] = field(metadata=SHOWN)
    key_times: tuple[str, ...] = field(metadata=SHOWN)
    returns_cot: bool
    silent_clock: bool = field(metadata=SHOWN)
    digest: str = field(default="", metadata=APART)
    wording: str = field(default="", metadata=APART)
    never: tuple[Avoid, ...] = field(default=(), metadata=APART)
    waives: Mapping[str, str] = field(default_factory=dict, metadata=LABELS)
    doses: Mapping[str, Mapping[str, Range]] = field(default_factory=dict, metadata=APART)
    strengths: Mapping[str, Range] = field(default_factory=dict, metadata=APART)
    covers: Mapping[str, tuple[str, ...]] = field(default_factory=dict, metadata=SHOWN)

    def __repr__(self) -> str:
        """Return the scenario in a line."""
        size = f"{count(len(self.states), 'state')}, {count(len(self.key), 'item')}"
        name = f"{self.id} {self.version} “{self.title}”"
        return f"<Scenario {name}: {size}, protocol {self.protocol.id}>"

    def _repr_html_(self) -> str:
        """Return the picture of the states that a notebook shows."""
        from simengine.scenario.diagram import as_image

        return as_image(self)
