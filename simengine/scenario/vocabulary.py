"""The vocabulary of one specialty as plain data: all the names that a scenario may use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from simengine.quantities import Range
from simengine.scenario.digest import APART, LABELS, SHOWN
from simengine.scenario.equipment import Equipment
from simengine.scenario.forms import (
    DIFFERENCE,
    FLAG,
    FORMAT,
    FRACTION,
    NAME,
    OWN_RANGE,
    QUANTITY,
    TEXT,
    TIME,
    UNIT,
    WORD,
    AnyForm,
    Choice,
    Key,
    ListOf,
    MapOf,
    Record,
    Value,
    a_range,
    figure_sources,
    given,
    keys_of,
    name_of,
    roles_with,
    texts,
)
from simengine.scenario.wanted import OneOf

WORDS = ListOf(
    WORD,
    "a list of words",
    1,
    name="words",
    about="The words that it can have, in place of a unit.",
)
USUAL = ListOf(QUANTITY, "a list of numbers with their units", 1, reads="list")
LABEL = given(TEXT, "What people call it.", mark=SHOWN)


@dataclass(frozen=True, slots=True)
class Setting:
    """What the team can set. Numeric (``unit``) or in words (``words``), never both.

    ``noun``: its name within a sentence, ``the peak pressure``.
    ``meaningful``: the least change that counts as one (``None``: the tolerance). ``usual``: what
    it usually is, ``usual_steps``: how far it is usually turned, both in ``unit``; ``read_in``:
    other units in which it may be read.
    """

    name: str
    label: str = field(metadata=LABEL)
    unit: str | None = field(default=None, metadata=given(UNIT, by_hand=True))
    tolerance: float = field(
        default=0.0,
        metadata=given(
            DIFFERENCE,
            "How far off still earns part of the credit; also the width of a bare quantity.",
        ),
    )
    plausible: Range | None = field(
        default=None,
        metadata=given(OWN_RANGE, "A value outside it is questioned, never silently taken."),
    )
    step: float | None = field(
        default=None, metadata=given(DIFFERENCE, "One touch of the console.", mark=SHOWN)
    )
    meaningful: float | None = field(
        default=None,
        metadata=given(DIFFERENCE, "The least change that counts as one; left out: the tolerance."),
    )
    words: tuple[str, ...] = field(default=(), metadata=given(WORDS))
    noun: str = field(
        default="",
        metadata=given(TEXT, "Its name within a sentence: the peak pressure.", mark=SHOWN),
    )
    usual: tuple[float, ...] = field(
        default=(),
        metadata=given(USUAL, "What it usually is, offered for one touch.", mark=SHOWN),
    )
    usual_steps: tuple[float, ...] = field(
        default=(),
        metadata=given(
            ListOf(DIFFERENCE, "a list of differences", 1, reads="list"),
            "How far it is usually turned from where it stands, offered for one touch.",
            mark=SHOWN,
        ),
    )
    read_in: tuple[str, ...] = field(
        default=(),
        metadata=given(
            ListOf(UNIT, "a list of units", 1),
            "Others in which it may be read.",
            by_hand=True,
            mark=SHOWN,
        ),
    )

    @property
    def least_change(self) -> float:
        """The least change that counts as one."""
        return self.tolerance if self.meaningful is None else self.meaningful


SETTING = Record("a setting", keys_of(Setting), name="setting")
_DECIMALS = Value("a whole number", {"type": "integer", "minimum": 0, "maximum": 6}, reads="whole")
_TOUCH = Value("one character", {"type": ["string", "integer"], "minLength": 1, "maxLength": 1})


@dataclass(frozen=True, slots=True)
class RevealedBy:
    """How the team comes to know an observation: an action, after ``delay_ms``.

    ``streams``: while the (lasting) action runs the value is read all the time; otherwise one
    performance gives one snapshot.
    """

    action: str = field(metadata=given(name_of("action"), "An action of this vocabulary."))
    delay_ms: int = field(
        default=0, metadata=given(TIME, "From the action to the first figure.", key="delay")
    )
    streams: bool = field(
        default=False,
        metadata=given(
            FLAG, "true: read all the time while the action runs; else a snapshot with an age."
        ),
    )


REVEALED_BY = Record("what reveals an observation", keys_of(RevealedBy), name="revealed_by")


@dataclass(frozen=True, slots=True)
class AddsUp:
    """A score that signs add up to. ``signs``: for each sign its points, and what earns them.

    What earns none of the points of a sign earns 0 there.
    """

    signs: Mapping[str, Mapping[str, Range | OneOf]] = field(
        metadata=given(
            MapOf(
                MapOf(
                    AnyForm("a range, or a list of words", OWN_RANGE, ListOf(WORD, "words", 1)),
                    "a map of points to what earns them",
                    1,
                    free=True,
                ),
                "a map of observations",
                1,
            ),
            "For each sign what earns its points: {heart_rate: {2: above 100 /min}}.",
            by_hand=True,
        )
    )
    source: str = field(metadata=given(TEXT, "The published source."))


@dataclass(frozen=True, slots=True)
class Observation:
    """What can be seen, heard or measured. No ``revealed_by``: anyone can see it at any time.

    ``noun``: its name within a sentence, ``the heart rate``; ``was``: for each word what was so
    then, ``the chest rose``.
    ``fresh_ms``: how old a snapshot may be and still count as known now. ``told_within``: how near
    the truth a value said aloud must be, in ``unit`` (``None``: any number will do; a word must be
    the same). ``bands``: how it is told before it is told as a figure.
    """

    name: str
    label: str = field(metadata=LABEL)
    unit: str | None = field(default=None, metadata=given(UNIT, by_hand=True))
    words: tuple[str, ...] = field(default=(), metadata=given(WORDS))
    decimals: int = field(default=0, metadata=given(_DECIMALS, "Figures after the point."))
    revealed_by: tuple[RevealedBy, ...] = field(
        default=(),
        metadata=given(
            ListOf(REVEALED_BY, "a list of actions that reveal it"),
            "Without one of these the team can't know it. Left out: anyone can see it.",
        ),
    )
    fresh_ms: int = field(
        default=15_000,
        metadata=given(TIME, "How old a reading may be and still count as known.", key="fresh"),
    )
    told_within: float | None = field(
        default=None,
        metadata=given(DIFFERENCE, "How near the truth a value said aloud must be."),
    )
    noun: str = field(
        default="", metadata=given(TEXT, "Its name within a sentence: the heart rate.", mark=SHOWN)
    )
    was: Mapping[str, str] = field(
        default_factory=dict,
        metadata=given(
            MapOf(TEXT, "a map of words", 1, free=True),
            "For each word what was so then, within a sentence: good: the chest rose.",
            by_hand=True,
            mark=SHOWN,
        ),
    )
    largest: bool = field(
        default=False,
        metadata=given(FLAG, "true: it is told first on every screen, and largest.", mark=SHOWN),
    )
    bands: tuple[Range, ...] = field(
        default=(),
        metadata=given(
            ListOf(OWN_RANGE, "a list of ranges", 1, reads="list"),
            "How it is told before it is told as a figure, offered for one touch.",
            mark=SHOWN,
        ),
    )
    adds_up: AddsUp | None = field(
        default=None,
        metadata=given(
            Record("a score that signs add up to", keys_of(AddsUp), name="adds_up"),
            "The signs that make it, so that the debrief can set what was told beside them.",
            by_hand=True,
            mark=SHOWN,
        ),
    )


OBSERVATION = Record("an observation", keys_of(Observation), name="observation")
_DOSE_PART = {"unit": Key(UNIT, needed=True), "tolerance": Key(DIFFERENCE, default=0.0)}
STRENGTH = Record("the strength of a dose", _DOSE_PART)
FLUSH = Record(
    "the flush of a dose",
    {**_DOSE_PART, "usual": Key(USUAL, "What it usually is, offered for one touch.")},
)
OVER = Record(
    "the time over which a dose is given",
    {**_DOSE_PART, "usual": Key(USUAL, "What it usually is, offered for one touch.")},
)


@dataclass(frozen=True, slots=True)
class Dose:
    """The dose that an action carries; ``unit`` is per kilogram, e.g. ``mcg/kg``.

    ``routes`` maps each route word to its label. ``strength_unit`` and ``flush_unit`` are
    ``None`` where the drug has none. ``in_parts``: given bit by bit, so that amounts add up.
    ``over_unit``: of the time over which it is given; ``None`` for a drug that is given at once.
    ``usual_flush`` and ``usual_over``: in ``flush_unit`` and ``over_unit``.
    """

    unit: str = field(metadata=given(UNIT, "Per kilogram, e.g. mcg/kg.", by_hand=True))
    tolerance: float = field(default=0.0, metadata=given(DIFFERENCE))
    routes: Mapping[str, str] = field(
        default_factory=dict,
        metadata=given(texts("a map of routes", 1), "The ways in: name and label.", mark=LABELS),
    )
    strength_unit: str | None = field(
        default=None,
        metadata=given(STRENGTH, "How strong the drug is.", key="strength", by_hand=True),
    )
    strength_tolerance: float = 0.0
    flush_unit: str | None = field(
        default=None, metadata=given(FLUSH, "What is given after it.", key="flush", by_hand=True)
    )
    flush_tolerance: float = 0.0
    over_unit: str | None = field(
        default=None,
        metadata=given(OVER, "Over how long it is given.", key="over", by_hand=True),
    )
    over_tolerance: float = 0.0
    in_parts: bool = field(
        default=False,
        metadata=given(FLAG, "true: given bit by bit, so that amounts add up."),
    )
    usual_flush: tuple[float, ...] = field(default=(), metadata=SHOWN)
    usual_over: tuple[float, ...] = field(default=(), metadata=SHOWN)


DOSE = Record("a dose", keys_of(Dose), name="dose")


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
    label: str = field(metadata=LABEL)
    phase: str = field(metadata=given(name_of("phase"), "One of phases."))
    do: str = field(
        default="",
        metadata=given(
            TEXT,
            "What is asked, within a sentence: dry the baby. All four forms, or none.",
            mark=SHOWN,
        ),
    )
    did: str = field(
        default="",
        metadata=given(TEXT, "What was done, after a name: dried the baby.", mark=SHOWN),
    )
    doing: str = field(
        default="", metadata=given(TEXT, "The doing of it: drying the baby.", mark=SHOWN)
    )
    noun: str = field(
        default="", metadata=given(TEXT, "Its short name within a sentence: drying.", mark=SHOWN)
    )
    lasting: bool = field(default=False, metadata=given(FLAG, "true: it runs until it is stopped."))
    settings: tuple[str, ...] = field(
        default=(),
        metadata=given(
            ListOf(name_of("setting"), "a list of settings", reads="names"),
            "The settings that it carries.",
        ),
    )
    dose: Dose | None = field(default=None, metadata=given(DOSE, "The dose that it carries."))
    shortest_ms: int = field(
        default=0,
        metadata=given(TIME, "A lasting action stopped sooner does not count.", key="shortest"),
    )
    role: str | None = field(
        default=None, metadata=given(name_of("role"), "Who usually does it.", mark=SHOWN)
    )
    key: str | None = field(
        default=None, metadata=given(_TOUCH, "Its key on the console.", mark=SHOWN)
    )
    reads: str | None = field(
        default=None, metadata=given(NAME, "The observation whose value is told with it.")
    )
    ends: str | None = field(
        default=None, metadata=given(NAME, "The lasting action that it stops, if that runs.")
    )
    by_voice: bool = field(
        default=False, metadata=given(FLAG, "true: it is speech, and done by being said.")
    )
    stays: bool = field(
        default=False, metadata=given(FLAG, "true: once done it stays done, and counts ahead.")
    )
    on_baby: bool = field(
        default=False,
        metadata=given(FLAG, "true: it is done to the baby, so never before time zero."),
    )
    avoid_from_ms: int | None = field(
        default=None,
        metadata=given(
            TIME,
            "How long it must last before 'avoid' counts it; left out: as scoring has it.",
            key="avoid_from",
        ),
    )
    stops_care: bool = field(
        default=False,
        metadata=given(FLAG, "true: a decision to stop care; what comes later is never unsafe."),
    )


ACTION = Record("an action", keys_of(Action), name="action")


@dataclass(frozen=True, slots=True)
class Drain:
    """What empties a supply, in the supply's unit per minute.

    Either the setting ``flow`` (already a flow, L/min), of which ``part`` is drawn from this
    supply (``all``; ``oxygen``: flow x (F - air) / (1 - air); ``air``: the rest), F being the
    setting ``blend`` and ``air`` the oxygen fraction of air as the vocabulary states it; or a
    fixed ``rate`` while the lasting action ``doing`` runs. Both given: the flow counts only
    while ``doing`` runs. A setting that is not known drains nothing.
    """

    doing: str | None = field(
        default=None,
        metadata=given(name_of("action"), "Only while this lasting action runs."),
    )
    rate: float | None = field(
        default=None, metadata=given(QUANTITY, "What it then takes, e.g. 8 L/min.")
    )
    flow: str | None = field(
        default=None, metadata=given(name_of("setting"), "The setting that is a flow out of it.")
    )
    part: Literal["all", "oxygen", "air"] = field(
        default="all",
        metadata=given(
            Choice(("all", "oxygen", "air")), "The part of the flow that comes from here."
        ),
    )
    blend: str | None = field(
        default=None,
        metadata=given(name_of("setting"), "The setting that is the oxygen fraction of the flow."),
    )
    air: float = field(
        default=0.0,
        metadata=given(
            FRACTION,
            "The oxygen fraction of air, e.g. 21 %.",
        ),
    )

    def drawn(self, flow: float, fraction: float | None) -> float:
        """Return what ``part`` draws of a flow, ``fraction`` being the oxygen fraction of 1."""
        if flow <= 0.0 or self.part == "all":
            return max(0.0, flow)
        if fraction is None:
            return 0.0
        share = min(1.0, max(0.0, (fraction - self.air) / (1.0 - self.air)))
        return flow * (share if self.part == "oxygen" else 1.0 - share)


DRAIN = Record("a drain", keys_of(Drain), name="drain")


@dataclass(frozen=True, slots=True)
class Gauge:
    """The dial on which the contents of a supply are read: ``full``, in ``unit``, is a full one.

    ``told_within``: how near a reading that is told must be, in ``unit``.
    """

    unit: str
    full: float = field(
        metadata=given(QUANTITY, "What it shows of a full one, e.g. 230 bar.", by_hand=True)
    )
    setting: str | None = field(
        default=None,
        metadata=given(name_of("setting"), "The setting as which its reading is written down."),
    )
    told_within: float | None = field(
        default=None,
        metadata=given(
            DIFFERENCE,
            "How near what it shows a reading must be; left out: none is off.",
            by_hand=True,
        ),
    )


GAUGE = Record("a gauge", keys_of(Gauge), name="gauge")


@dataclass(frozen=True, slots=True)
class Supply:
    """What runs out. ``capacity`` is in ``unit`` (e.g. ``L``).

    ``reserve``: the share of what is left that is kept back where minutes are told, of 1.
    """

    name: str
    label: str = field(metadata=LABEL)
    unit: str
    capacity: float = field(
        metadata=given(QUANTITY, "What it holds when full, e.g. 460 L.", by_hand=True)
    )
    drains: tuple[Drain, ...] = field(
        default=(), metadata=given(ListOf(DRAIN, "a list of drains"), "What empties it.")
    )
    refilled_by: str | None = field(
        default=None, metadata=given(name_of("action"), "The action that fills it again.")
    )
    gauge: Gauge | None = field(
        default=None,
        metadata=given(GAUGE, "The dial on which its contents are read.", by_hand=True, mark=SHOWN),
    )
    reserve: float = field(
        default=0.0,
        metadata=given(
            FRACTION,
            "The share of what is left that is kept back where minutes are told, e.g. 10 %.",
            mark=SHOWN,
        ),
    )


SUPPLY = Record("a supply", keys_of(Supply), name="supply")


@dataclass(frozen=True, slots=True)
class Equation:
    """A bedside sum with its published source; see ``simengine.scenario.equations``.

    ``inputs`` name what must be given, each with its unit; ``constants`` are quantities as text.
    ``round_to`` is in ``unit``; halves go up. ``plain``: an empirical formula, whose inputs are
    bare numbers in their units and whose result is a bare number in ``unit``.
    """

    name: str
    label: str = field(metadata=given(TEXT, "What people call it."))
    formula: str = field(
        metadata=given(TEXT, "Numbers, names, + - * / ** brackets, ln(x), min, max.")
    )
    unit: str = field(metadata=given(UNIT, "The unit of the result.", by_hand=True))
    inputs: Mapping[str, str] = field(
        metadata=given(MapOf(UNIT, "a map of inputs", 1), "What must be given: name and unit.")
    )
    constants: Mapping[str, str] = field(
        metadata=given(
            MapOf(QUANTITY, "a map of constants"),
            "Figures that are always the same, each with its unit.",
            optional=True,
        )
    )
    source: str = field(metadata=given(TEXT, "The publication."))
    round_to: float | None = field(
        default=None, metadata=given(DIFFERENCE, "Rounded to this; halves go up.")
    )
    plain: bool = field(
        default=False,
        metadata=given(FLAG, "true: an empirical formula of bare numbers in the units stated."),
    )


EQUATION = Record("an equation", keys_of(Equation), name="equation")


@dataclass(frozen=True, slots=True)
class PlausibleInfant:
    """What is plausible of a baby: ``gestation`` in days, ``weight`` in grams."""

    gestation: Range = field(
        metadata=given(a_range(OWN_RANGE.title, unit="d", reads="range"), "Its gestation.")
    )
    weight: Range = field(
        metadata=given(a_range(OWN_RANGE.title, unit="g", reads="range"), "Its weight.")
    )


INFANT = Record("a map with 'gestation' and 'weight'", keys_of(PlausibleInfant))


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """All names of one specialty. ``phases`` and ``roles`` map a name to its label, in order.

    ``stand_ins``: for a role, those that do its work where a scenario has nobody for it, in order.
    ``caution`` is the line that stands beside each dose, pressure and time limit. ``digest``,
    ``wording``: what it means, and what its words are, see ``simengine.scenario.digest``.
    """

    id: str = field(metadata=given(NAME, "The name of this file without .yaml."))
    title: str = field(metadata=LABEL)
    phases: Mapping[str, str] = field(
        metadata=given(
            texts("a map of phases", 1),
            "The phases of the job, in order: name and label.",
            mark=LABELS,
        )
    )
    roles: Mapping[str, str] = field(
        metadata=given(
            roles_with(
                "else",
                "a list of roles",
                "Who does its work where a scenario has nobody for it: the first that it has.",
            ),
            "Who there is in a team: name and label.",
            mark=LABELS,
        )
    )
    settings: Mapping[str, Setting] = field(
        metadata=given(
            MapOf(SETTING, "a map of settings"), "What the team can set on the equipment."
        )
    )
    observations: Mapping[str, Observation] = field(
        metadata=given(
            MapOf(OBSERVATION, "a map of observations"), "What can be seen, heard or measured."
        )
    )
    actions: Mapping[str, Action] = field(
        metadata=given(MapOf(ACTION, "a map of actions", 1), "What the team can do.")
    )
    supplies: Mapping[str, Supply] = field(
        metadata=given(MapOf(SUPPLY, "a map of supplies"), "What runs out.", optional=True)
    )
    equations: Mapping[str, Equation] = field(
        metadata=given(
            MapOf(EQUATION, "a map of equations"),
            "Bedside sums, each with its published source.",
            optional=True,
            mark=SHOWN,
        )
    )
    caution: str = field(
        metadata=given(
            TEXT,
            "The line that stands beside each dose, pressure and time limit.",
            mark=SHOWN,
        )
    )
    stand_ins: Mapping[str, tuple[str, ...]] = field(default_factory=dict, metadata=SHOWN)
    infant: PlausibleInfant | None = field(
        default=None,
        metadata=given(
            INFANT,
            "What is plausible of a baby: what lies outside is questioned, never silently taken.",
            mark=SHOWN,
        ),
    )
    physiology: str | None = field(
        default=None,
        metadata=given(NAME, "The id of the physiology: what care does to any baby.", mark=APART),
    )
    equipment: Equipment | None = field(
        default=None,
        metadata=given(
            NAME,
            "The id of the catalogue of the cot, whose actions and settings join those here.",
            by_hand=True,
            mark=SHOWN,
        ),
    )
    sources: Mapping[str, str] = field(
        default_factory=dict,
        metadata=figure_sources("tolerances, delays, how long a reading is fresh", SHOWN),
    )
    digest: str = field(default="", metadata=APART)
    wording: str = field(default="", metadata=APART)

    def revealing(self, observation: str) -> tuple[str, ...]:
        """Return the actions by which the team comes to know an observation."""
        return tuple(by.action for by in self.observations[observation].revealed_by)


FILE = Record(
    "a vocabulary",
    {"format": Key(FORMAT, needed=True), **keys_of(Vocabulary)},
    about=(
        "The words of one specialty: what can be set, seen, done and used up. A scenario may use "
        "only names that stand here."
    ),
)
"""What a vocabulary's file holds."""
