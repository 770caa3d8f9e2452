"""The vocabulary of one specialty as plain data: all the names that a scenario may use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from simengine.quantities import Range
from simengine.scenario.digest import APART, LABELS, SHOWN


@dataclass(frozen=True, slots=True)
class Setting:
    """What the team can set. Numeric (``unit``) or in words (``words``), never both.

    ``noun``: its name within a sentence, ``the peak pressure``.
    ``meaningful``: the least change that counts as one (``None``: the tolerance). ``usual``: what
    it usually is, ``usual_steps``: how far it is usually turned, both in ``unit``; ``read_in``:
    other units in which it may be read.
    """

    name: str
    label: str = field(metadata=SHOWN)
    unit: str | None = None
    tolerance: float = 0.0
    plausible: Range | None = None
    step: float | None = field(default=None, metadata=SHOWN)
    meaningful: float | None = None
    words: tuple[str, ...] = ()
    noun: str = field(default="", metadata=SHOWN)
    usual: tuple[float, ...] = field(default=(), metadata=SHOWN)
    usual_steps: tuple[float, ...] = field(default=(), metadata=SHOWN)
    read_in: tuple[str, ...] = field(default=(), metadata=SHOWN)

    @property
    def least_change(self) -> float:
        """The least change that counts as one."""
        return self.tolerance if self.meaningful is None else self.meaningful


@dataclass(frozen=True, slots=True)
class RevealedBy:
    """How the team comes to know an observation: an action, after ``delay_ms``.

    ``streams``: while the (lasting) action runs the value is read all the time; otherwise one
    performance gives one snapshot.
    """

    action: str
    delay_ms: int = 0
    streams: bool = False


@dataclass(frozen=True, slots=True)
class Observation:
    """What can be seen, heard or measured. No ``revealed_by``: anyone can see it at any time.

    ``noun``: its name within a sentence, ``the heart rate``.
    ``fresh_ms``: how old a snapshot may be and still count as known now. ``told_within``: how near
    the truth a value said aloud must be, in ``unit`` (``None``: any number will do; a word must be
    the same). ``bands``: how it is told before it is told as a figure.
    """

    name: str
    label: str = field(metadata=SHOWN)
    unit: str | None = None
    words: tuple[str, ...] = ()
    decimals: int = 0
    revealed_by: tuple[RevealedBy, ...] = ()
    fresh_ms: int = 15_000
    told_within: float | None = None
    noun: str = field(default="", metadata=SHOWN)
    bands: tuple[Range, ...] = field(default=(), metadata=SHOWN)


@dataclass(frozen=True, slots=True)
class Dose:
    """The dose that an action carries; ``unit`` is per kilogram, e.g. ``mcg/kg``.

    ``routes`` maps each route word to its label. ``strength_unit`` and ``flush_unit`` are
    ``None`` where the drug has none. ``in_parts``: given bit by bit, so that amounts add up.
    ``usual_flush``: in ``flush_unit``.
    """

    unit: str
    tolerance: float = 0.0
    routes: Mapping[str, str] = field(default_factory=dict, metadata=LABELS)
    strength_unit: str | None = None
    strength_tolerance: float = 0.0
    flush_unit: str | None = None
    flush_tolerance: float = 0.0
    in_parts: bool = False
    usual_flush: tuple[float, ...] = field(default=(), metadata=SHOWN)


@dataclass(frozen=True, slots=True)
class Action:
    """What the team can do.

    Its forms within a sentence: ``do`` (``dry the baby``), ``did`` (``dried the baby``), ``doing``
    (``drying the baby``) and ``noun`` (``drying``); of a lasting action ``do`` and ``did`` are its
    beginning. A vocabulary gives all four or none; from none the reader makes them of the label.
    ``reads`` names an observation whose value is spoken with it, ``ends`` a lasting action that
    doing it stops. ``by_voice``: it is speech, and done by being said. ``stays``: once done it
    stays done. ``on_baby``: it is done to the baby, so never before time zero.
    ``avoid_from_ms``: how long it must last before ``avoid`` counts it (``None``: the default of
    the rules of scoring). ``stops_care``: a decision to stop care; what comes later is never
    unsafe.
    """

    name: str
    label: str = field(metadata=SHOWN)
    phase: str
    do: str = field(default="", metadata=SHOWN)
    did: str = field(default="", metadata=SHOWN)
    doing: str = field(default="", metadata=SHOWN)
    noun: str = field(default="", metadata=SHOWN)
    lasting: bool = False
    settings: tuple[str, ...] = ()
    dose: Dose | None = None
    shortest_ms: int = 0
    role: str | None = field(default=None, metadata=SHOWN)
    key: str | None = field(default=None, metadata=SHOWN)
    reads: str | None = None
    ends: str | None = None
    by_voice: bool = False
    stays: bool = False
    on_baby: bool = False
    avoid_from_ms: int | None = None
    stops_care: bool = False


@dataclass(frozen=True, slots=True)
class Drain:
    """What empties a supply, in the supply's unit per minute.

    Either the setting ``flow`` (already a flow, L/min), of which ``part`` is drawn from this
    supply (``all``; ``oxygen``: flow x (F - air) / (1 - air); ``air``: the rest), F being the
    setting ``blend`` and ``air`` the oxygen fraction of air as the vocabulary states it; or a
    fixed ``rate`` while the lasting action ``doing`` runs. Both given: the flow counts only
    while ``doing`` runs. A setting that is not known drains nothing.
    """

    doing: str | None = None
    rate: float | None = None
    flow: str | None = None
    part: Literal["all", "oxygen", "air"] = "all"
    blend: str | None = None
    air: float = 0.0

    def drawn(self, flow: float, fraction: float | None) -> float:
        """Return what ``part`` draws of a flow, ``fraction`` being the oxygen fraction of 1."""
        if flow <= 0.0 or self.part == "all":
            return max(0.0, flow)
        if fraction is None:
            return 0.0
        share = min(1.0, max(0.0, (fraction - self.air) / (1.0 - self.air)))
        return flow * (share if self.part == "oxygen" else 1.0 - share)


@dataclass(frozen=True, slots=True)
class Supply:
    """What runs out. ``capacity`` is in ``unit`` (e.g. ``L``)."""

    name: str
    label: str = field(metadata=SHOWN)
    unit: str
    capacity: float
    drains: tuple[Drain, ...] = ()
    refilled_by: str | None = None


@dataclass(frozen=True, slots=True)
class Equation:
    """A bedside sum with its published source; see ``simengine.scenario.equations``.

    ``inputs`` name what must be given, each with its unit; ``constants`` are quantities as text.
    ``round_to`` is in ``unit``; halves go up. ``plain``: an empirical formula, whose inputs are
    bare numbers in their units and whose result is a bare number in ``unit``.
    """

    name: str
    label: str
    formula: str
    unit: str
    inputs: Mapping[str, str]
    constants: Mapping[str, str]
    source: str
    round_to: float | None = None
    plain: bool = False


@dataclass(frozen=True, slots=True)
class PlausibleInfant:
    """What is plausible of a baby: ``gestation`` in days, ``weight`` in grams."""

    gestation: Range
    weight: Range


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """All names of one specialty. ``phases`` and ``roles`` map a name to its label, in order.

    ``stand_ins``: for a role, those that do its work where a scenario has nobody for it, in order.
    ``caution`` is the line that stands beside each dose, pressure and time limit. ``digest``,
    ``wording``: what it means, and what its words are, see ``simengine.scenario.digest``.
    """

    id: str
    title: str = field(metadata=SHOWN)
    phases: Mapping[str, str] = field(metadata=LABELS)
    roles: Mapping[str, str] = field(metadata=LABELS)
    settings: Mapping[str, Setting]
    observations: Mapping[str, Observation]
    actions: Mapping[str, Action]
    supplies: Mapping[str, Supply]
    equations: Mapping[str, Equation] = field(metadata=SHOWN)
    caution: str = field(metadata=SHOWN)
    stand_ins: Mapping[str, tuple[str, ...]] = field(default_factory=dict, metadata=SHOWN)
    infant: PlausibleInfant | None = field(default=None, metadata=SHOWN)
    digest: str = field(default="", metadata=APART)
    wording: str = field(default="", metadata=APART)

    def revealing(self, observation: str) -> tuple[str, ...]:
        """Return the actions by which the team comes to know an observation."""
        return tuple(by.action for by in self.observations[observation].revealed_by)
