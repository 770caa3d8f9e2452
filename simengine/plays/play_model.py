"""A play as plain data.

Rules of this file:

- Times are whole milliseconds; ranges are in the unit that their field names.
- Whatever a complaint may be about keeps its place in the file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from simengine.quantities import Range
from simengine.scenario.conditions import Condition
from simengine.scenario.forms import (
    FLAG,
    FORMAT,
    WANTED,
    AnyForm,
    Choice,
    Form,
    Key,
    ListOf,
    MapOf,
    Record,
    Value,
    a_time,
    given,
    keys_of,
    plain_text,
)
from simengine.scenario.key import USUAL_WAY, Way
from simengine.scenario.model import Scenario
from simengine.scenario.place import Place
from simengine.scenario.vocabulary import Observation
from simengine.scenario.wanted import Wanted
from simengine.session.events import Kind

NAME = Value("a name", {"type": "string", "pattern": "^[A-Za-z0-9][A-Za-z0-9_.:-]*$"}, name="name")
NAMES = AnyForm("a name, or a list of them", NAME, ListOf(NAME, "a list of names", 1), name="names")
TEXT = plain_text("text", reads="text", name="text")
TIME = a_time("a time such as 20 s", "20 s", "1 min 30 s", about="", name="time")
RANGE = plain_text("a range such as at least 97 %", name="range")
VALUE = plain_text("a value with its unit, or a word", name="value")
VALUES = MapOf(VALUE, "a map of settings", 1)
VERDICT = plain_text("a verdict such as on time")
BY_HAND: tuple[Kind, ...] = ("hold", "release", "pause", "resume")
"""What the facilitator does by one touch."""


@dataclass(frozen=True, slots=True)
class When:
    """When something is done: ``after_ms`` from what is named.

    ``clock``: time zero of the team's clock; ``start``: the beginning of the session; ``state``:
    an entry of the state ``name``; ``action``: a doing or start of the action ``name``;
    ``condition``: once ``condition`` has held for ``lasting_ms``.
    """

    kind: Literal["clock", "start", "state", "action", "condition"]
    name: str = ""
    condition: Condition | None = None
    after_ms: int = 0
    lasting_ms: int = 0


_ANCHOR_KEYS: Mapping[str, Key] = {
    "start": Key(TIME, "Time since the session began."),
    "state": Key(NAME, "Counted from the entry of this state."),
    "action": Key(NAME, "Counted from the doing or the start of this action."),
    "when": Key(
        Value("a condition", {"type": "object"}),
        "As in a scenario: what the team sees, e.g. {read: {heart_rate: below 60 /min, within: "
        "15 s}} or {observed: {breathing: absent}}.",
    ),
}
ANCHORS = tuple(_ANCHOR_KEYS)
ANCHOR = AnyForm(
    "when: a time on the team's clock, or a map",
    TIME,
    Record(
        "a map with one of start, state, action, when",
        {
            **_ANCHOR_KEYS,
            "after": Key(TIME, "So long afterwards; left out: at once."),
            "lasting": Key(TIME, "Only once the condition has held for so long."),
        },
    ),
    name="anchor",
)


@dataclass(frozen=True, slots=True)
class Act:
    """One entry of the log: its kind and data.

    ``tells``: the observation whose true value is said with it. ``undoes``: the kind of event of
    which the newest by hand is undone.
    """

    kind: Kind
    data: Mapping[str, Any] = field(default_factory=dict)
    tells: str | None = None
    undoes: str | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """What it does by name: its action, setting, fault, event or state."""
        keys = ("action", "setting", "fault", "name", "state", "observation")
        return tuple(str(self.data[key]) for key in keys if key in self.data)


@dataclass(frozen=True, slots=True)
class Step:
    """What is done at one time, written down ``late_ms`` afterwards.

    ``every_ms``: done again after so long, until ``until``. ``each``: each time that what ``when``
    names happens, not the first time alone.
    """

    number: int
    when: When = field(metadata=given(ANCHOR, "When it is done.", key="at"))
    acts: tuple[Act, ...]
    place: Place
    every_ms: int | None = field(
        default=None,
        metadata=given(TIME, "Done again after so long, until the end or until.", key="every"),
    )
    until: When | None = field(default=None, metadata=given(ANCHOR, "No more from then on."))
    each: bool = field(
        default=False,
        metadata=given(
            FLAG,
            "Each time the state is entered, the action done or the condition met; left out: the "
            "first.",
        ),
    )
    late_ms: int = field(
        default=0, metadata=given(TIME, "Written down so long after it was done.", key="late")
    )


_TRUE = Value("true", {"const": True})
_DONE: Mapping[str, Key] = {
    "do": Key(NAMES, "Actions of a moment."),
    "start": Key(NAMES, "Lasting actions that begin."),
    "stop": Key(NAMES, "Lasting actions that end."),
    "set": Key(VALUES, "What the team turns, and to what."),
    "how": Key(Choice(get_args(Way), "a way of doing it"), "How it is done.", default=USUAL_WAY),
    "role": Key(
        NAME, "Who does it; left out: the vocabulary's usual role, if the scenario has it."
    ),
    "settings": Key(VALUES, "The settings given with the action."),
    "dose": Key(
        Record(
            "a dose",
            {
                "amount": Key(VALUE, "By weight or in all: 20 mcg/kg, 68 mcg."),
                "volume": Key(VALUE, "What was drawn up."),
                "strength": Key(VALUE, "How strong it was."),
                "flush": Key(VALUE, "What was given after it."),
                "over": Key(VALUE, "Over how long it was given: 10 min."),
                "route": Key(NAME, "The way in."),
            },
            least=1,
        ),
        "The dose given with the action.",
    ),
    "told": Key(
        AnyForm(
            "the values said, a map, or 'nothing'",
            Value("nothing", {"const": "nothing"}),
            MapOf(VALUE, "a map of observations", 1),
        ),
        "What is said with the action; left out: what the baby truly shows, for an action that "
        "reads a value.",
    ),
}
UNDONE = Choice(("state", "hold", "pause", "event"), "what was last done by hand, to be undone")
CLOSING = Choice(("finished", "stopped early", "safety stop"), "why it ends")
_BY_THE_FACILITATOR: Mapping[str, Key] = {
    "event": Key(
        NAME,
        "A named event, given by the facilitator (the one that starts the clock is clock_at).",
    ),
    "state": Key(NAME, "A state taken by the facilitator by hand."),
    "plant": Key(NAME, "A fault planted by the facilitator."),
    "find": Key(NAME, "A fault that the team finds."),
    "mend": Key(NAME, "A fault that the team puts right without the action that does."),
    "show": Key(NAME, "An observation shown by hand."),
    "hide": Key(NAME, "An observation hidden by hand."),
    "information": Key(TEXT, "What a manikin can't show."),
    "cue": Key(TEXT, "A prompt by the facilitator."),
    "prompts": Key(NAME, "The action that the cue prompts."),
    "skip": Key(TIME, "Scenario time moves on by so much."),
    "unavailable": Key(NAME, "Kit, by its action or setting, that is not there."),
    "unobserved": Key(TEXT, "A key item that nobody could see."),
    **{kind: Key(_TRUE, f"The facilitator's touch: {kind}.") for kind in BY_HAND},
    "undo": Key(UNDONE, "The newest one of this kind is undone."),
    "close": Key(CLOSING, "The end of the session."),
}
STEP = Record("a step", {**keys_of(Step), **_DONE, **_BY_THE_FACILITATOR}, name="step")


@dataclass(frozen=True, slots=True)
class ItemExpected:
    """What must come of one key item; ``None``: anything. ``credit`` in per cent."""

    id: str
    place: Place
    verdict: str | None = field(default=None, metadata=given(VERDICT, "Its verdict."))
    credit: Range | None = field(default=None, metadata=given(RANGE, "The credit: at least 50 %."))


@dataclass(frozen=True, slots=True)
class ShownExpected:
    """What the baby must truly show at the end."""

    observation: Observation
    wanted: Wanted
    place: Place


ITEM_EXPECTED = AnyForm(
    "a verdict, or a map of verdict and credit",
    VERDICT,
    Record("a map of verdict and credit", keys_of(ItemExpected), least=1),
)


@dataclass(frozen=True, slots=True)
class Names:
    """A list of names that must come, neither more nor fewer."""

    names: tuple[str, ...]
    place: Place


def _all_of(title: str, what: str) -> Form:
    none = Value("none", {"const": "none"})
    return AnyForm(title, none, ListOf(TEXT, what, 1))


OUTCOME = Choice(("achieved", "not yet achieved", "too close to call", "none"), "an outcome")


@dataclass(frozen=True, slots=True)
class Expected:
    """What must come of a play; ``None``: anything. ``total`` in per cent.

    ``outcome`` is ``none`` where none must be proposed.
    """

    states: Names | None = field(
        default=None,
        metadata=given(ListOf(NAME, "a list of states", 1), "All states entered, in order."),
    )
    total: tuple[Range, Place] | None = field(
        default=None, metadata=given(RANGE, "The total: at least 97 %, 40 to 60 %.")
    )
    outcome: tuple[str, Place] | None = field(
        default=None,
        metadata=given(
            OUTCOME, "Under the scenario's pass mark, a demonstration one included.", by_hand=True
        ),
    )
    items: tuple[ItemExpected, ...] = field(
        default=(),
        metadata=given(
            MapOf(ITEM_EXPECTED, "a map of key items", 1, free=True),
            "By id: a verdict, or a map of verdict and credit.",
        ),
    )
    shows: tuple[ShownExpected, ...] = field(
        default=(),
        metadata=given(
            MapOf(WANTED, "a map of observations", 1),
            "What the baby truly shows at the end: {temperature: at least 36.5 degC}.",
        ),
    )
    unsafe: Names | None = field(
        default=None,
        metadata=given(
            _all_of("'none', or a list of what was unsafe", "a list of names"),
            "All of it, by id: what is unsafe in any baby (never:NAME) and what stops a pass.",
        ),
    )
    findings: Names | None = field(
        default=None,
        metadata=given(
            _all_of("'none', or a list of findings by code", "a list of codes"),
            "All of what the record asks somebody to look at.",
        ),
    )


EXPECTED = Record("what must come of it", keys_of(Expected), least=1)


@dataclass(frozen=True, slots=True)
class Play:
    """A play of ``scenario``. ``clock_at_ms``: when the team's clock starts."""

    name: str
    title: str = field(metadata=given(TEXT, "What people call it."))
    about: str = field(
        metadata=given(TEXT, "What it shows, and why it must come out so.", optional=True)
    )
    scenario: Scenario = field(metadata=given(NAME, "The id of the scenario.", by_hand=True))
    steps: tuple[Step, ...] = field(
        metadata=given(ListOf(STEP, "a list of steps"), "What the team does.", optional=True)
    )
    expected: Expected = field(metadata=given(EXPECTED, "What must come of it.", key="expect"))
    clock_at_ms: int = field(
        metadata=given(
            TIME,
            "When the event that starts the team's clock is given, since the session began.",
            key="clock_at",
            optional=True,
            otherwise=60_000,
            by_hand=True,
        )
    )


FILE = Record(
    "a play",
    {
        "format": Key(FORMAT, needed=True),
        **keys_of(Play),
        "protocol": Key(NAME, "The id of another protocol than the scenario's."),
        "like": Key(
            NAME,
            "Another play of this scenario, in the same folder, whose steps are done here too.",
        ),
        "without": Key(
            NAMES,
            "Actions, settings, faults or events: the steps of the other play with them are left "
            "out.",
        ),
    },
    either=("steps", "like"),
    about="What a team does in a scenario and when, and what must come of it.",
)
"""What a play's file holds."""
