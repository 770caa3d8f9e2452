"""The marking guide of a scenario as plain data: the six kinds of key item."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar, Literal, get_args

from simengine.scenario.conditions import CONDITION, DIRECTION, Condition
from simengine.scenario.digest import SHOWN
from simengine.scenario.forms import (
    FLAG,
    FROM_PROTOCOL,
    NAME,
    PERCENT,
    RANGE,
    SHARE,
    TEXT,
    TIME,
    WANTED,
    WHEN,
    AnyForm,
    ByKey,
    Choice,
    Form,
    Key,
    ListOf,
    MapOf,
    Record,
    Value,
    beside,
    given,
    keys_of,
    name_of,
    names_of,
)
from simengine.scenario.wanted import Told, Wanted


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


ACTIONS_ANY = Record(
    "{any: a list of actions}",
    {
        "any": Key(
            ListOf(name_of("action"), "a list of actions", 2),
            "Any one of them serves; the first gives the title.",
            needed=True,
        )
    },
    name="actions_any",
)


@dataclass(frozen=True, slots=True)
class AskedSetting:
    """A change of a setting is asked: into ``to``, or ``direction`` by a meaningful change."""

    setting: str = field(metadata=given(NAME, "A change of this setting …", key="set"))
    to: Wanted | None = field(default=None, metadata=given(WANTED, "… into this range"))
    direction: Literal["lower", "higher"] | None = field(
        default=None,
        metadata=given(DIRECTION, "… or by at least a meaningful change", key="change"),
    )


@dataclass(frozen=True, slots=True)
class AskedFault:
    """A planted fault is to be found, or mended."""

    fault: str
    status: Literal["found", "mended"]


@dataclass(frozen=True, slots=True)
class AskedKnowledge:
    """That the team knows an observation is asked. ``told``: and has said it, near the truth."""

    observation: str = field(metadata=given(NAME, "The team knows this observation.", key="know"))
    told: bool = field(
        default=False,
        metadata=given(FLAG, "true: and has said it aloud, near the truth."),
    )


KNOW = Record("an observation to be known", keys_of(AskedKnowledge), name="know")
_ASKED = "{any: …}, {set: …, to: …}, {know: OBSERVATION}, {find: FAULT} or {mend: FAULT}"
ASKED = AnyForm(
    f"an action, {_ASKED}",
    NAME,
    ByKey(
        _ASKED,
        {
            "find": Record(
                "a fault to be found", {"find": Key(NAME, "This fault found.", needed=True)}
            ),
            "mend": Record(
                "a fault to be put right",
                {"mend": Key(NAME, "This fault put right.", needed=True)},
            ),
            "know": KNOW,
            "any": ACTIONS_ANY,
        },
        Record("a change of a setting", keys_of(AskedSetting)),
    ),
    name="asked",
)
ASKED_AGAIN = AnyForm(
    "an action, {any: …} or {know: OBSERVATION}",
    NAME,
    ByKey("{any: …} or {know: OBSERVATION}", {"any": ACTIONS_ANY}, KNOW),
)


Asked = AskedAction | AskedSetting | AskedFault | AskedKnowledge


@dataclass(frozen=True, slots=True)
class Anchor:
    """What a window is counted from.

    ``clock``: the event that starts the team's clock (written ``from: birth``, its own name);
    ``start``; a ``state``, an ``action`` or a ``fault`` by ``name``.
    """

    kind: Literal["clock", "start", "state", "action", "fault"]
    name: str | None = None


ANCHOR = AnyForm(
    "start, the event of start.clock, {state: …}, {action: …} or {fault: …}",
    NAME,
    Record(
        "an anchor",
        {
            "state": Key(NAME, "The entry of this state."),
            "action": Key(NAME, "The doing or the start of this action."),
            "fault": Key(NAME, "The planting of this fault."),
        },
        least=1,
        most=1,
    ),
    name="anchor",
)


DOSE_ASKED = AnyForm(
    "a range, {protocol: NAME}, or {ROUTE: RANGE}",
    RANGE,
    ByKey(
        "{protocol: NAME} or {ROUTE: RANGE}",
        {"protocol": FROM_PROTOCOL},
        MapOf(WANTED, "a map of routes", 1),
    ),
    name="dose_asked",
)


@dataclass(frozen=True, slots=True)
class DoseAsked:
    """The dose that an item asks for, in the unit of the action's ``Dose``.

    ``by_route`` chooses the range by the route recorded and takes the place of ``amount``;
    ``routes`` are the routes allowed (empty: any).
    """

    amount: Wanted | None = field(
        default=None, metadata=given(DOSE_ASKED, "The amount that is right.", key="dose")
    )
    by_route: Mapping[str, Wanted] = field(default_factory=dict)
    routes: tuple[str, ...] = field(
        default=(), metadata=given(names_of("route"), "The routes allowed; left out: any.")
    )
    strength: Wanted | None = field(
        default=None, metadata=given(WANTED, "The strength that is right.")
    )
    flush: Wanted | None = field(default=None, metadata=given(WANTED, "The flush that is right."))
    over: Wanted | None = field(
        default=None,
        metadata=given(
            WANTED, "The time over which it is given, of parts together, that is right."
        ),
    )


@dataclass(frozen=True, slots=True)
class GivenDose:
    """Any action is done that carries a dose, and the dose is wrong for any baby.

    ``beyond``: the amount is above this many times the high end that the protocol's ``doses`` give
    for its route. ``None``: the protocol's ``doses`` give the action no place.
    """

    beyond: float | None = None


@dataclass(frozen=True, slots=True)
class GivenAgain:
    """A dose of ``action`` is given again by a like route, ``within_ms`` of one before it."""

    action: str
    within_ms: int


_DOSE_AVOIDED = "'no place', {beyond: 200 %} or {again: adrenaline, within: 90 s}"
_AVOIDED = "{any: …}, {begin: …}, {dose: …} or a condition"
AVOIDED = AnyForm(
    f"an action, {_AVOIDED}",
    NAME,
    ByKey(
        _AVOIDED,
        {
            "begin": Record(
                "a beginning",
                {
                    "begin": Key(
                        AnyForm("an action, or {any: …}", NAME, ACTIONS_ANY),
                        "Each start of it, judged at that instant alone.",
                        needed=True,
                    )
                },
            ),
            "dose": Record(
                "a dose",
                {
                    "dose": Key(
                        AnyForm(
                            _DOSE_AVOIDED,
                            Value(_DOSE_AVOIDED, {"type": "string", "enum": ["no place"]}),
                            ByKey(
                                _DOSE_AVOIDED,
                                {
                                    "again": Record(
                                        "{again: adrenaline, within: 90 s}",
                                        {
                                            "again": Key(
                                                NAME, "The drug that is given again.", needed=True
                                            ),
                                            "within": Key(
                                                TIME,
                                                "Too soon after one before it.",
                                                needed=True,
                                            ),
                                        },
                                    ),
                                    "beyond": Record(
                                        "{beyond: 200 %}", {"beyond": Key(PERCENT, needed=True)}
                                    ),
                                },
                            ),
                        ),
                        "Of any drug: no place in the protocol's 'doses', or beyond its range. Of "
                        "one: given again by a like route within a time.",
                        needed=True,
                    )
                },
            ),
            "any": ACTIONS_ANY,
        },
        CONDITION,
        names="any",
    ),
    name="avoided",
)


Way = Literal["done", "simulated", "said", "ordered", "attempted"]
USUAL_WAY: Way = "done"
"""How an action was done where nobody has said it."""
Importance = Literal["essential", "important", "helpful"]
Ahead = Literal["counts", "early"]
Kind = str
"""One of ``CLASSES``."""

WAY = Choice(get_args(Way))
WAYS = ListOf(WAY, "a list of ways", 1, reads="list", name="accepts", about="What counts.")
IMPORTANCE = Choice(get_args(Importance), name="importance")
AHEAD = Choice(get_args(Ahead))
CUES = Choice({"allowed": True, "not allowed": False})
AS_FOUND = Choice({"counts": True, "not counted": False})
REFERENCE = AnyForm(
    "one of references, or {protocol: NAME}",
    NAME,
    Record(
        "{protocol: NAME}",
        {"protocol": Key(NAME, "A value of the protocol.", needed=True)},
        about="The source that the chosen protocol gives for this value.",
    ),
    name="reference",
    about="Where it is from.",
)
SETTINGS_WANTED = MapOf(WANTED, "a map of settings", reads="settings")
IDEAL = given(WHEN, "Full credit up to here.", key="ideal", by_hand=True)
LATEST = given(
    WHEN, "No credit from here on; left out: ideal.", key="latest", optional=True, by_hand=True
)
SETTINGS = given(
    SETTINGS_WANTED,
    "What the settings should be at that instant; 'as shown': what the gauge of a supply showed as "
    "it was read.",
)
MUST = given(
    names_of("setting"),
    "Settings of these that must not be wholly off for an outcome.",
    by_hand=True,
)
SETTLE_MS = 10_000
SETTLE = given(WHEN, "How long a setting may be told afterwards.", key="settle")
BEFORE = given(AHEAD, "How what was done before is taken; left out: by what the action is.")
FOUND_SO = given(AS_FOUND, "counts: met by a start setting that nobody touched.", key="as_found")


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """What every key item has. ``during``: state names, empty for the whole session."""

    id: str = field(metadata=given(TEXT, "Left out: kind:name.", optional=True, otherwise=""))
    title: str = field(
        metadata=given(
            TEXT,
            "What the debrief calls it; left out: the label.",
            optional=True,
            otherwise="",
            mark=SHOWN,
        )
    )
    importance: Importance = field(
        default="important", metadata=given(IMPORTANCE, "How much it weighs.")
    )
    objective: str | None = field(
        default=None, metadata=given(name_of("objective"), "One of objectives.")
    )
    role: str | None = field(default=None, metadata=given(name_of("role"), "Whose task it is."))
    why: str = field(
        default="",
        metadata=given(TEXT, "One sentence that the debrief shows.", mark=SHOWN),
    )
    reference: str | None = field(default=None, metadata=given(REFERENCE, mark=SHOWN))
    accepts: tuple[Way, ...] = field(default=("done", "simulated"), metadata=given(WAYS))
    during: tuple[str, ...] = field(
        default=(),
        metadata=given(names_of("state"), "Only in these states; left out: the whole session."),
    )
    cues_allowed: bool = field(
        default=False,
        metadata=given(
            CUES, "allowed: met with a cue it still counts for the outcome.", key="cues"
        ),
    )

    kind: ClassVar[Kind]
    credited: ClassVar[bool] = True
    """Whether it gives a credit; else it takes from the total alone."""

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """The conditions that it rests on."""
        return ()

    @property
    def asked(self) -> Asked | None:
        """The one thing that it asks, where there is one."""
        return None

    @property
    def actions(self) -> tuple[str, ...]:
        """The actions that it asks to be done."""
        return self.asked.actions if isinstance(self.asked, AskedAction) else ()

    @property
    def not_advised(self) -> tuple[str, ...]:
        """The actions that it advises against."""
        return ()

    @property
    def settings(self) -> Mapping[str, Told]:
        """What settings should be as the asked is done."""
        return {}

    @property
    def dose(self) -> DoseAsked | None:
        """The dose that it asks."""
        return None

    @property
    def must(self) -> tuple[str, ...]:
        """The settings that must not be wholly off for an outcome."""
        return ()

    @property
    def must_reach(self) -> bool:
        """Whether it earns nothing where it is never asked."""
        return False

    @property
    def whenever(self) -> Condition | None:
        """The condition each of whose beginnings opens an occasion."""
        return None

    @property
    def anchor(self) -> Anchor | None:
        """What its window is counted from, where that is no condition."""
        return None

    @property
    def until(self) -> tuple[str, ...]:
        """The states that close its window."""
        return ()

    @property
    def kept(self) -> Condition | None:
        """The condition that it asks to hold."""
        return None

    @property
    def not_to_hold(self) -> Condition | None:
        """The condition that it asks not to hold."""
        return None

    @property
    def times_asked(self) -> Mapping[str, int]:
        """By their keys, the times in ms of which a protocol may speak."""
        return {}

    @property
    def as_found_counts(self) -> bool:
        """Whether a start setting that nobody touched meets it."""
        return False

    @property
    def stops_pass(self) -> bool:
        """Whether there is no pass once it was offended."""
        return False

    @property
    def never(self) -> bool:
        """Whether it is about what is unsafe in any baby."""
        return False


@dataclass(frozen=True, slots=True, kw_only=True)
class Windowed(Item):
    """An item of a kind that asks something within a window, on each of its occasions.

    ``must``: settings that must not be wholly off for an outcome. ``ahead``: how what was done
    before the occasion is taken (``None``: by the rules of scoring).
    """

    asked: Asked
    ideal_ms: int = field(metadata=IDEAL)
    latest_ms: int = field(metadata=LATEST)
    settings: Mapping[str, Told] = field(default_factory=dict, metadata=SETTINGS)
    must: tuple[str, ...] = field(default=(), metadata=MUST)
    dose: DoseAsked | None = field(default=None, metadata=beside(DoseAsked))
    settle_ms: int = field(default=SETTLE_MS, metadata=SETTLE)
    ahead: Ahead | None = field(default=None, metadata=BEFORE)

    @property
    def not_before_ms(self) -> int | None:
        """Sooner than this after an occasion opens earns nothing."""
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Expect(Windowed):
    """Something is asked within a window from an anchor."""

    kind = "expect"

    asked: Asked = field(metadata=given(ASKED, "What is asked.", key="expect"))
    anchor: Anchor = field(
        metadata=given(ANCHOR, "What the window is counted from.", key="from", optional=True)
    )
    not_before_ms: int | None = field(
        default=None,
        metadata=given(
            WHEN,
            "Sooner earns nothing; negative: also before the anchor.",
            key="not_before",
            by_hand=True,
        ),
    )
    each: bool = field(
        default=False, metadata=given(FLAG, "true: every time that the anchor happens.")
    )
    must_reach: bool = field(
        default=False, metadata=given(FLAG, "true: scores 0 if the anchor never happens.")
    )
    until: tuple[str, ...] = field(
        default=(), metadata=given(names_of("state"), "States that close the window.")
    )
    as_found_counts: bool = field(default=False, metadata=FOUND_SO)

    @property
    def times_asked(self) -> Mapping[str, int]:
        """By their keys, the times in ms of which a protocol may speak."""
        return {"ideal": self.ideal_ms}


@dataclass(frozen=True, slots=True, kw_only=True)
class Respond(Windowed):
    """Something is asked each time that a condition has held for a while.

    ``ahead``: before the condition began.
    """

    kind = "respond"

    asked: Asked = field(metadata=given(ASKED, "What is asked.", key="respond"))
    whenever: Condition = field(metadata=given(CONDITION, "Each time that this holds."))
    lasting_ms: int = field(
        metadata=given(
            WHEN, "It has held for this long.", key="lasting", optional=True, otherwise=0
        )
    )
    unseen: bool = field(
        default=False, metadata=given(FLAG, "true: also before the team has a reading.")
    )
    even_if_resolved: bool = field(
        default=False, metadata=given(FLAG, "true: also if the condition ends first.")
    )

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """The conditions that it rests on."""
        return (self.whenever,)

    @property
    def times_asked(self) -> Mapping[str, int]:
        """By their keys, the times in ms of which a protocol may speak."""
        return {"lasting": self.lasting_ms}


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat(Item):
    """An action is asked again and again, or that the team knows an observation.

    ``spoken``: a performance counts only with the value told, unless a sensor streams it.
    """

    kind = "repeat"

    asked: AskedAction | AskedKnowledge = field(
        metadata=given(ASKED_AGAIN, "What is asked again and again.", key="repeat")
    )
    every_ms: int = field(metadata=given(WHEN, "How often.", key="every"))
    grace_ms: int = field(default=0, metadata=given(WHEN, "How late it may be.", key="grace"))
    spoken: bool = field(
        default=False, metadata=given(FLAG, "true: counts only with the value told.")
    )

    @property
    def times_asked(self) -> Mapping[str, int]:
        """By their keys, the times in ms of which a protocol may speak."""
        return {"every": self.every_ms}


@dataclass(frozen=True, slots=True, kw_only=True)
class Keep(Item):
    """A condition is to hold for a share of the time."""

    kind = "keep"

    condition: Condition = field(metadata=given(CONDITION, "What is to hold.", key="keep"))
    share: float = field(default=1.0, metadata=given(SHARE, "The share of the time that is asked."))
    as_found_counts: bool = field(default=False, metadata=FOUND_SO)

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """The conditions that it rests on."""
        return (self.condition,)

    @property
    def kept(self) -> Condition:
        """The condition that it asks to hold."""
        return self.condition


@dataclass(frozen=True, slots=True, kw_only=True)
class Order(Item):
    """First performances are asked in this order; each member is any one of some actions."""

    kind = "order"

    members: tuple[tuple[str, ...], ...] = field(
        metadata=given(
            ListOf(AnyForm("an action, or {any: …}", NAME, ACTIONS_ANY), "a list of actions", 2),
            "Actions in the order in which they should first be done.",
            key="order",
        )
    )

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

    kind = "avoid"
    credited = False

    what: AskedAction | GivenDose | GivenAgain | Condition = field(
        metadata=given(AVOIDED, "What is not advised.", key="avoid")
    )
    lasting_ms: int | None = field(
        default=None,
        metadata=given(WHEN, "It has lasted this long; left out: by what it is.", key="lasting"),
    )
    only_while: Condition | None = field(
        default=None, metadata=given(CONDITION, "Only while this holds as well.", key="while")
    )
    begun: bool = False
    once: bool = field(
        default=False, metadata=given(FLAG, "true: however often it occurs it counts once.")
    )
    never: bool = False
    source: str = field(default="", metadata=SHOWN)

    @property
    def condition(self) -> Condition | None:
        """What must not hold; ``None`` where an action or a dose is meant."""
        return None if isinstance(self.what, AskedAction | GivenDose | GivenAgain) else self.what

    deduct: float = field(default=0.05, metadata=given(SHARE, "Taken off each time."))
    at_most: float | None = field(default=None, metadata=given(SHARE, "Taken off at most."))
    stops_pass: bool = field(default=False, metadata=given(FLAG, "true: no pass with it."))

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """The conditions that it rests on."""
        return tuple(part for part in (self.condition, self.only_while) if part is not None)

    @property
    def not_to_hold(self) -> Condition | None:
        """The condition that it asks not to hold."""
        return self.condition

    @property
    def not_advised(self) -> tuple[str, ...]:
        """The actions that it advises against."""
        return self.what.actions if isinstance(self.what, AskedAction) else ()


IMPORTANCE_WEIGHTS: Mapping[Importance, float] = {
    "essential": 3.0,
    "important": 2.0,
    "helpful": 1.0,
}
"""What an item weighs unless the scenario says otherwise."""

_TAUGHT = {
    "taught": Key(NAME, "A value of the protocol: under one that has none the item is left out.")
}
_TOLD = {
    "told": Key(FLAG, "true: what is known has been said aloud, near the truth.", default=False)
}


CLASSES: Mapping[str, type[Item]] = {
    each.kind: each for each in (Expect, Respond, Repeat, Keep, Order, Avoid)
}
"""What an item of each kind is."""


def item_form(kind: Kind, owner: type[Item]) -> Record:
    """Return how an item of a kind is written."""
    keys = keys_of(owner)
    more = _TOLD if keys[kind].form in (ASKED, ASKED_AGAIN) else {}
    return Record(
        f"{'an' if kind[0] in 'aeo' else 'a'} '{kind}' item",
        {kind: keys[kind], **keys, **_TAUGHT, **more},
        refused=tuple(other for other in CLASSES if other != kind),
        name=kind,
    )


ITEMS: Mapping[str, Form] = {kind: item_form(kind, owner) for kind, owner in CLASSES.items()}
ITEM = ByKey(
    "a key item",
    ITEMS,
    name="item",
    about=f"One kind: {', '.join(list(CLASSES)[:-1])} or {list(CLASSES)[-1]}.",
)


@dataclass(frozen=True, slots=True)
class Standard:
    """How the pass mark was set. Without it no outcome is proposed.

    ``demonstration``: nobody has set it. Simulated teams are held to it, and people never.
    """

    method: str = field(metadata=given(TEXT, "By which method.", mark=SHOWN))
    panel: str = field(metadata=given(TEXT, "By whom.", mark=SHOWN))
    date: str = field(metadata=given(TEXT, "On which day.", mark=SHOWN))
    error: float | None = field(
        default=None, metadata=given(SHARE, "Its standard error.", mark=SHOWN)
    )
    demonstration: bool = field(
        default=False,
        metadata=given(
            FLAG, "true: nobody has set it. Simulated teams are held to it, and people never."
        ),
    )


STANDARD = Record("how the pass mark was set", keys_of(Standard))
_WEIGHT = Value("a weight of 0 or more", {"type": "number", "minimum": 0}, reads="number")
WEIGHTS = Record(
    "a map of weights",
    {
        name: Key(_WEIGHT, f"Of an item that is {name}.", default=weight)
        for name, weight in IMPORTANCE_WEIGHTS.items()
    },
)


@dataclass(frozen=True, slots=True)
class Scoring:
    """Weights and standard of a scenario. Fractions of 1; ``recording_sd_ms`` in ms."""

    weights: Mapping[Importance, float] = field(
        metadata=given(WEIGHTS, "What an item weighs.", optional=True)
    )
    pass_mark: float | None = field(
        default=None, metadata=given(SHARE, "Asked for an outcome; needs a standard.", key="pass")
    )
    standard: Standard | None = field(
        default=None, metadata=given(STANDARD, "How the pass mark was set.")
    )
    essential_floor: float = field(
        default=0.5, metadata=given(SHARE, "Asked of each essential item.")
    )
    recording_sd_ms: float = field(
        default=4_400.0,
        metadata=given(TIME, "Standard deviation of times written by hand.", key="recording_sd"),
    )

    @property
    def is_set(self) -> bool:
        """Whether a panel has set the pass mark, so that an outcome can be signed."""
        return (
            self.pass_mark is not None
            and self.standard is not None
            and not self.standard.demonstration
        )


SCORING = Record("scoring", keys_of(Scoring))
