"""The scenario, vocabulary and protocol as plain data.

Rules of this file:

- Everything here is frozen and compares by value. Nothing here reads a file or the clock.
- Every number has been converted on the way in: a setting, observation, supply or dose is held
  in the unit that its vocabulary entry names; a duration or an instant is whole milliseconds
  (``_ms``); a share is a fraction of 1.
- A name in a field (``action``, ``setting``, ``state`` …) has been checked to exist.
- ``None`` means "not given", never "unknown".
- ``{protocol: NAME}`` has been replaced by the range (or ``Steps``) that the chosen protocol gives
  for this infant; the range's ``protocol`` field says so. Under another protocol or for another
  infant the scenario is loaded again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from simengine.quantities import Range
from simengine.quantities.wording import count
from simengine.scenario.conditions import Condition
from simengine.scenario.key import Avoid, KeyItem, Scoring
from simengine.scenario.protocol import Protocol
from simengine.scenario.vocabulary import Vocabulary
from simengine.scenario.wanted import Value, Wanted


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
    words: str = ""


@dataclass(frozen=True, slots=True)
class State:
    """One state of the infant. ``shows`` holds a ``Course`` or a word for each observation.

    ``declared``: the team brings it about by calling its work done.
    """

    name: str
    title: str
    shows: Mapping[str, Course | str]
    next: tuple[Transition, ...]
    ends: bool = False
    linger_ms: int = 0
    declared: bool = False
    trend: Literal["improving", "deteriorating", "stable"] | None = None


@dataclass(frozen=True, slots=True)
class MendedBySetting:
    """A fault is put right when this setting comes into this range."""

    setting: str
    wanted: Wanted


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault of the equipment. ``mended_by``: an action's name, or a setting's range."""

    name: str
    shows: str
    mended_by: str | MendedBySetting | None
    plant: str = ""
    planted_at_start: bool = True


@dataclass(frozen=True, slots=True)
class Infant:
    """The baby expected. ``gestation_days`` completed days; ``weight_g`` grams."""

    gestation_days: float
    weight_g: float
    words: str = ""


@dataclass(frozen=True, slots=True)
class Start:
    """How the session begins. ``supplies`` in each supply's unit; ``doing``: already in force."""

    state: str
    clock: str | None
    settings: Mapping[str, Value]
    supplies: Mapping[str, float]
    faults: Mapping[str, Fault]
    doing: tuple[str, ...] = ()


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
    for this infant, in the unit of the action's ``Dose``.
    """

    id: str
    version: str
    title: str
    vocabulary: Vocabulary
    protocol: Protocol
    infant: Infant
    planned_ms: int
    briefing: Mapping[str, str]
    roles: Mapping[str, str]
    objectives: Mapping[str, str]
    start: Start
    states: Mapping[str, State]
    key: tuple[KeyItem, ...]
    scoring: Scoring
    cues: tuple[PlannedCue, ...]
    references: Mapping[str, str]
    key_times: tuple[str, ...]
    returns_cot: bool
    silent_clock: bool
    digest: str
    never: tuple[Avoid, ...] = ()
    waives: Mapping[str, str] = field(default_factory=dict)
    doses: Mapping[str, Mapping[str, Range]] = field(default_factory=dict)

    def __repr__(self) -> str:
        """Return the scenario in a line."""
        size = f"{count(len(self.states), 'state')}, {count(len(self.key), 'item')}"
        name = f"{self.id} {self.version} “{self.title}”"
        return f"<Scenario {name}: {size}, protocol {self.protocol.id}>"

    def _repr_html_(self) -> str:
        """Return the picture of the states that a notebook shows."""
        from simengine.scenario.diagram import as_image

        return as_image(self)
