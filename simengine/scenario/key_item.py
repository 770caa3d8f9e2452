"""A key item as plain data: what items of all kinds have, and what may be asked.

Rules of this file:

- Nothing here knows which kinds there are; each stands in a file of ``kinds``.
- A kind says how one is read beyond the forms of its fields (``read``), what it is called where an
  author does not say (``named``), and what can't be right about one (``check``). For that it is
  given a reader, or the item at its place; so it needs neither the vocabulary nor the graph here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar, Literal, Self, get_args

from simengine.scenario.conditions import DIRECTION, Condition
from simengine.scenario.digest import SHOWN
from simengine.scenario.forms import (
    FLAG,
    FROM_PROTOCOL,
    NAME,
    RANGE,
    TEXT,
    WANTED,
    WHEN,
    AnyForm,
    ByKey,
    Choice,
    Key,
    ListOf,
    MapOf,
    Record,
    beside,
    given,
    keys_of,
    name_of,
    names_of,
)
from simengine.scenario.wanted import Told, Wanted

if TYPE_CHECKING:
    from simengine.scenario.checks.item_at import ItemAt
    from simengine.scenario.item_reader import ItemReader


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
NOT_READ = AskedAction("")
"""What is asked where it could not be read."""


def asked_name(asked: Asked) -> str:
    """Return the name of what is asked: of an action, an observation, a setting or a fault."""
    if isinstance(asked, AskedAction):
        return asked.action
    if isinstance(asked, AskedKnowledge):
        return asked.observation
    return asked.setting if isinstance(asked, AskedSetting) else asked.fault


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


Way = Literal["done", "simulated", "said", "ordered", "attempted"]
USUAL_WAY: Way = "done"
"""How an action was done where nobody has said it."""
Importance = Literal["essential", "important", "helpful"]
Ahead = Literal["counts", "early"]
Kind = str
"""One of ``simengine.scenario.kinds.CLASSES``."""

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

    @classmethod
    def read(cls, reader: ItemReader) -> Self:
        """Return one as it is written. What is wrong goes to the book of its place."""
        return cls(**reader.fields)

    def named(self, reader: ItemReader) -> tuple[str, str]:
        """Return the second part of an id that was not given, and a title that was not given."""
        raise NotImplementedError

    def check(self, item_at: ItemAt) -> None:
        """Note what can't be right about it where it stands; nothing more is known of most."""

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

    def named(self, reader: ItemReader) -> tuple[str, str]:
        """Name it after what it asks."""
        return asked_name(self.asked), reader.asked_words(self.asked)

    @property
    def not_before_ms(self) -> int | None:
        """Sooner than this after an occasion opens earns nothing."""
        return None
