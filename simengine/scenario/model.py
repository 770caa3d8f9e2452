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
from math import inf
from typing import Literal, get_args

from simengine.quantities import Quantity, Range
from simengine.quantities.formatting import count
from simengine.scenario.conditions import CONDITION, Condition
from simengine.scenario.digest import APART, LABELS, SHOWN
from simengine.scenario.forms import (
    DIFFERENCE,
    FLAG,
    FORMAT,
    NAME,
    QUANTITY,
    TEXT,
    TIME,
    VALUE,
    WANTED,
    WHEN,
    WORD,
    AnyForm,
    ByKey,
    Choice,
    Key,
    ListOf,
    MapOf,
    Record,
    a_time,
    figure_sources,
    given,
    keys_of,
    name_of,
    names_of,
    plain_text,
    quantity,
    roles_with,
    texts,
)
from simengine.scenario.key import ITEM, SCORING, Avoid, Item, Scoring
from simengine.scenario.protocol import Protocol
from simengine.scenario.vocabulary import Vocabulary
from simengine.scenario.wanted import Value, Wanted

Trend = Literal["improving", "deteriorating", "stable"]


@dataclass(frozen=True, slots=True)
class Adjust:
    """Shifts a target by ``by`` for each ``per`` that ``setting`` lies beyond ``reference``.

    ``side`` is ``above`` or ``below``; on the other side, or while the setting is not known,
    there is no shift. ``condition``: only while this holds (``None``: always).
    """

    setting: str
    side: Literal["above", "below"]
    reference: float
    per: float
    by: float
    condition: Condition | None = None


@dataclass(frozen=True, slots=True)
class Shift:
    """Shifts a target by ``by`` while ``condition`` holds."""

    condition: Condition
    by: float


@dataclass(frozen=True, slots=True)
class Limit:
    """Keeps a target within ``low`` to ``high`` while ``condition`` holds, all shifts added up."""

    condition: Condition
    low: float = -inf
    high: float = inf


@dataclass(frozen=True, slots=True)
class Instead:
    """Another word is shown while ``condition`` holds."""

    condition: Condition
    word: str


AnyAdjust = Adjust | Shift | Limit | Instead
_WHILE = Key(CONDITION, "Only while this holds.")
_SHIFTS_BY = Key(DIFFERENCE, "… the target shifts by this.")
IN_PROPORTION = Record(
    "a shift with a setting",
    {
        "per": Key(DIFFERENCE, "For each of this …", needed=True),
        "of": Key(NAME, "… of this setting …", needed=True),
        "above": Key(QUANTITY, "… above this"),
        "below": Key(QUANTITY, "… or below this …"),
        "by": _SHIFTS_BY._replace(needed=True),
        "while": _WHILE,
    },
    name="adjust",
)
WHILE = Record(
    "a shift or a limit while a condition holds",
    {
        "while": Key(CONDITION, "While this holds …", needed=True),
        "by": _SHIFTS_BY,
        "at_most": Key(QUANTITY, "… or it is kept at or below this …"),
        "at_least": Key(QUANTITY, "… or at or above this;"),
        "reads": Key(WORD, "of what is told in words: this word is shown instead."),
    },
    name="while",
)
# The older form, and the one that an item without a condition is meant as.
ADJUST = ByKey("a shift", {"per": IN_PROPORTION, "while": WHILE}, IN_PROPORTION)


@dataclass(frozen=True, slots=True)
class Course:
    """A numeric observation in a state: a first-order approach to ``to``.

    ``start``: the value at entry (``None``: the value that it already has; ``to`` if none).
    ``within_ms``: 95 % of the way by then (``None``: at once).
    """

    to: float = field(metadata=given(QUANTITY, "Where it goes; never quite reached."))
    start: float | None = field(
        default=None,
        metadata=given(QUANTITY, "The value at entry; left out: the one that it has.", key="from"),
    )
    within_ms: int | None = field(
        default=None,
        metadata=given(TIME, "95 % of the way by then; left out: at once.", key="within"),
    )
    adjust: tuple[AnyAdjust, ...] = field(
        default=(),
        metadata=given(ListOf(ADJUST, "a list of shifts", 1), "What shifts where it goes."),
    )


@dataclass(frozen=True, slots=True)
class Word:
    """An observation told in words, in a state: ``to``, or the first of ``adjust`` that holds."""

    to: str
    adjust: tuple[Instead, ...]


SHOWN_VALUE = AnyForm(
    "a word, a value, or {from: …, to: …, within: 30 s}",
    plain_text("a word or a value"),
    Record("a course", keys_of(Course), name="course"),
    name="shown",
)


@dataclass(frozen=True, slots=True)
class Transition:
    """A way out of a state. At least one of ``on``, ``when``, ``after_ms`` is given.

    Where several are given all are asked: ``when`` held for ``lasting_ms`` and ``after_ms``
    since the entry; ``on`` with ``when`` asks that ``when`` holds as the event comes.
    ``words`` say it to a facilitator, if the scenario gives them.
    """

    index: int
    to: str = field(metadata=given(name_of("state"), "The state that follows."))
    on: str | None = field(default=None, metadata=given(NAME, "A named event, e.g. birth."))
    when: Condition | None = field(default=None, metadata=given(CONDITION, "Once this holds."))
    lasting_ms: int = field(
        default=0,
        metadata=given(WHEN, "'when' has held for this long without a break.", key="lasting"),
    )
    after_ms: int | None = field(
        default=None, metadata=given(WHEN, "Since the state was entered.", key="after")
    )
    words: str = field(
        default="", metadata=given(TEXT, "What it waits for, in words for people.", mark=SHOWN)
    )


TRANSITION = Record("a transition", keys_of(Transition), name="transition")


@dataclass(frozen=True, slots=True)
class State:
    """One state of the infant. ``shows`` holds a ``Course`` or a word for each observation.

    A ``Word``: one that rules of the physiology change. ``declared``: the team brings it about by
    calling its work done.
    """

    name: str
    title: str = field(
        metadata=given(TEXT, "What people call it; left out: its name.", optional=True, mark=SHOWN)
    )
    shows: Mapping[str, Course | Word | str] = field(
        metadata=given(
            MapOf(SHOWN_VALUE, "a map of observations"),
            "What the baby shows; what is not named goes on as it was.",
            optional=True,
        )
    )
    next: tuple[Transition, ...] = field(
        metadata=given(
            ListOf(TRANSITION, "a list of transitions", 1),
            "The ways out. Where several come due at once the first listed is taken.",
            optional=True,
        )
    )
    ends: bool = field(default=False, metadata=given(FLAG, "true: the session closes here."))
    linger_ms: int = field(
        default=0,
        metadata=given(WHEN, "Time for a last look before it closes.", key="linger"),
    )
    keeps: tuple[str, ...] = field(
        default=(),
        metadata=given(
            names_of("observation"), "Words that it shows whatever the care: no rule changes them."
        ),
    )
    declared: bool = field(
        default=False,
        metadata=given(FLAG, "true: the team brings it about by calling its work done."),
    )
    trend: Trend | None = field(
        default=None,
        metadata=given(Choice(get_args(Trend)), "How the baby is doing.", mark=SHOWN),
    )


STATE = Record("a state", keys_of(State), name="state")


@dataclass(frozen=True, slots=True)
class MendedBySetting:
    """A fault is put right when this setting comes into this range."""

    setting: str = field(metadata=given(name_of("setting"), "This setting …", key="set"))
    wanted: Wanted = field(metadata=given(WANTED, "… in this range.", key="to"))


MENDED_BY = AnyForm(
    "an action, or {set: NAME, to: RANGE}",
    NAME,
    Record("{set: NAME, to: RANGE}", keys_of(MendedBySetting)),
)


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault of the equipment. ``mended_by``: an action's name, or a setting's range.

    ``row``: what of the cot it is wrong with, where its name is one of the catalogue's.
    ``settings``, ``supplies`` (in each supply's unit) and ``doing`` are what it leaves standing,
    empty and running as long as it has not been put right; ``as_found``: settings that stand on a
    dial of another unit, as it shows them.
    """

    name: str
    shows: str = field(
        metadata=given(
            TEXT,
            "What the team would see; {figure} is what its dial shows. Left out: as the catalogue "
            "of the cot has it, like every other key.",
            optional=True,
            mark=SHOWN,
        )
    )
    mended_by: str | MendedBySetting | None = field(
        metadata=given(MENDED_BY, "What puts it right.", optional=True)
    )
    plant: str = field(default="", metadata=given(TEXT, "How to plant it.", mark=SHOWN))
    planted_at_start: bool = field(
        default=True,
        metadata=given(
            Choice({"start": True, "later": False}), "When it is planted.", key="planted"
        ),
    )
    put_right: str = field(
        default="", metadata=given(TEXT, "What puts it right, in words.", mark=SHOWN)
    )
    put_back: str = field(
        default="",
        metadata=given(TEXT, "How the cot is brought back afterwards.", mark=SHOWN),
    )
    why: str = field(
        default="",
        metadata=given(TEXT, "Why it matters: an item that asks for it says so.", mark=SHOWN),
    )
    row: str = field(default="", metadata=SHOWN)
    settings: Mapping[str, Value] = field(
        default_factory=dict,
        metadata=given(
            MapOf(VALUE, "a map of settings"), "What it leaves standing on a dial.", by_hand=True
        ),
    )
    supplies: Mapping[str, float] = field(
        default_factory=dict,
        metadata=given(
            MapOf(VALUE, "a map of supplies"),
            "What it leaves in a supply: a share, an amount, or what the gauge shows.",
            by_hand=True,
        ),
    )
    doing: tuple[str, ...] = field(
        default=(),
        metadata=given(names_of("action"), "Lasting actions that it leaves running.", by_hand=True),
    )
    as_found: Mapping[str, Quantity] = field(default_factory=dict, metadata=SHOWN)


FAULT = Record("a fault", keys_of(Fault), name="fault")
FAULTS = AnyForm(
    "a list of faults of the cot, or a map of faults",
    ListOf(NAME, "a list of faults of the cot", 1),
    MapOf(FAULT, "a map of faults"),
)


@dataclass(frozen=True, slots=True)
class Infant:
    """The baby expected. ``gestation_days`` completed days; ``weight_g`` grams."""

    gestation_days: float = field(
        metadata=given(
            a_time(
                "a gestation such as 39 wk",
                "39 wk",
                "39 wk 2 d",
                unit="d",
                usual="wk",
                reads="quantity",
                about="Weeks, or weeks and days: 39 wk 2 d.",
            ),
            key="gestation",
        )
    )
    weight_g: float = field(
        metadata=given(
            quantity("a weight such as 3.4 kg", "3.4 kg", "1200 g", unit="g", usual="kg"),
            key="weight",
        )
    )
    words: str = field(default="", metadata=given(TEXT, "A line about the baby.", mark=SHOWN))


INFANT = Record("the baby expected", keys_of(Infant))


@dataclass(frozen=True, slots=True)
class Start:
    """How the session begins. ``supplies`` in each supply's unit; ``doing``: already in force.

    ``as_found``: settings that stand on a gauge of another unit, as it shows them.
    """

    state: str = field(metadata=given(name_of("state"), "The state that it begins in."))
    clock: str | None = field(
        metadata=given(
            NAME, "The event that is time zero of the team's clock, e.g. birth.", optional=True
        )
    )
    settings: Mapping[str, Value] = field(
        metadata=given(MapOf(VALUE, "a map of settings"), "The settings as found.", optional=True)
    )
    supplies: Mapping[str, float] = field(
        metadata=given(
            MapOf(VALUE, "a map of supplies"),
            "Contents: a share of the capacity, an amount, or what the gauge shows.",
            optional=True,
        )
    )
    faults: Mapping[str, Fault] = field(
        metadata=given(
            FAULTS,
            "What is wrong with the cot. The team should find it and put it right.",
            optional=True,
        )
    )
    doing: tuple[str, ...] = field(
        default=(),
        metadata=given(names_of("action"), "Lasting actions that already run.", by_hand=True),
    )
    as_found: Mapping[str, Quantity] = field(default_factory=dict, metadata=SHOWN)


START = Record("the start", keys_of(Start))


@dataclass(frozen=True, slots=True)
class PlannedCue:
    """A prompt that the facilitator may give, and the action that it prompts."""

    text: str = field(metadata=given(TEXT, "What the facilitator says."))
    prompts: str | None = field(
        metadata=given(name_of("action"), "The action that it prompts.", optional=True)
    )


CUE = Record("a cue", keys_of(PlannedCue))
REFERENCES = AnyForm(
    "a map of references, or a list of protocols",
    texts("a map of references", about="Name and publication."),
    ListOf(NAME, "a list of protocols"),
)


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

    id: str = field(metadata=given(NAME, "The name of this file without .yaml."))
    version: str = field(
        metadata=given(TEXT, "Raise it when the scenario changes, e.g. 1.0.0.", mark=SHOWN)
    )
    title: str = field(metadata=given(TEXT, "What people call it.", mark=SHOWN))
    vocabulary: Vocabulary = field(
        metadata=given(NAME, "The id of the vocabulary.", by_hand=True, mark=APART)
    )
    protocol: Protocol = field(
        metadata=given(
            NAME,
            "The id of the protocol; the scenario can be run under another.",
            by_hand=True,
            mark=APART,
        )
    )
    infant: Infant = field(metadata=given(INFANT, "The baby."))
    planned_ms: int = field(
        metadata=given(TIME, "How long it is planned to take.", key="planned_time", mark=SHOWN)
    )
    briefing: Mapping[str, str] = field(
        metadata=given(
            texts("a map of texts"),
            "What is told before: learners, facilitator, risk, cord_plan, fiction_contract, …",
            optional=True,
            otherwise={},
            mark=SHOWN,
        )
    )
    roles: Mapping[str, str] = field(
        metadata=given(
            roles_with(
                "covers",
                "a list of roles of the vocabulary",
                "Whose work this role does, its own included; left out: that of the vocabulary's "
                "role of its name.",
            ),
            "The roles of this scenario; left out: those of the vocabulary.",
            optional=True,
            by_hand=True,
            mark=LABELS,
        )
    )
    objectives: Mapping[str, str] = field(
        metadata=given(
            texts("a map of objectives"),
            "What is to be learnt: name and sentence.",
            optional=True,
            otherwise={},
            mark=LABELS,
        )
    )
    start: Start = field(metadata=given(START, "How the session begins."))
    states: Mapping[str, State] = field(
        metadata=given(MapOf(STATE, "a map of states", 1), "What the baby does.")
    )
    key: tuple[Item, ...] = field(
        metadata=given(ListOf(ITEM, "a list of key items", 1), "The marking guide.")
    )
    scoring: Scoring = field(metadata=given(SCORING, "Weights and the pass mark.", optional=True))
    cues: tuple[PlannedCue, ...] = field(
        metadata=given(
            ListOf(CUE, "a list of cues"),
            "Prompts that the facilitator may give.",
            optional=True,
            mark=SHOWN,
        )
    )
    references: Mapping[str, str] = field(
        metadata=given(REFERENCES, "Where things are from.", optional=True, mark=SHOWN)
    )
    key_times: tuple[str, ...] = field(
        metadata=given(
            ListOf(TEXT, "a list of key item ids"),
            "The items whose times the debrief tabulates.",
            optional=True,
            mark=SHOWN,
        )
    )
    returns_cot: bool = field(
        metadata=given(
            FLAG,
            "true: closed only when the cot is back in service. Left out: true where faults are "
            "planted.",
            optional=True,
            by_hand=True,
        )
    )
    silent_clock: bool = field(
        metadata=given(
            FLAG,
            "true: timekeeping is scored, so the tool's own clock marks are silent.",
            optional=True,
            otherwise=False,
            mark=SHOWN,
        )
    )
    digest: str = field(default="", metadata=APART)
    wording: str = field(default="", metadata=APART)
    never: tuple[Avoid, ...] = field(default=(), metadata=APART)
    waives: Mapping[str, str] = field(
        default_factory=dict,
        metadata=given(
            MapOf(TEXT, "a map of names to reasons"),
            "What the protocol calls unsafe in any baby and this scenario sets aside, each with "
            "the reason.",
            mark=LABELS,
        ),
    )
    without: Mapping[str, str] = field(
        default_factory=dict,
        metadata=given(
            MapOf(TEXT, "a map of names to reasons"),
            "Rules of the physiology that this scenario sets aside, each with the reason.",
            mark=SHOWN,
            by_hand=True,
        ),
    )
    complications: Mapping[str, tuple[str, ...]] = field(
        default_factory=dict,
        metadata=given(
            MapOf(names_of("state"), "a map of complications to states"),
            "Complications of the physiology that may come to pass, each with the states in which "
            "it may begin; it leads back to them.",
            mark=SHOWN,
            by_hand=True,
        ),
    )
    sources: Mapping[str, str] = field(
        default_factory=dict, metadata=figure_sources("courses, timers, windows of time", SHOWN)
    )
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


FILE = Record(
    "a scenario",
    {"format": Key(FORMAT, needed=True), **keys_of(Scenario)},
    about="One scenario: how it begins, what the baby does, and the marking guide.",
)
"""What a scenario's file holds."""
