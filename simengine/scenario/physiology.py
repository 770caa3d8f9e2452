"""What care does to any baby, as plain data, and what a file of physiology may hold.

Rules of this file:

- A rule says what one thing does while it is so: it shifts or limits what observations go to.
- Care that is named once (``care``) can be asked for by the guards of any scenario.
- A complication is a few states that any scenario may turn on, and that lead back to where the baby
  came from. Certainty would teach falsely, so none is on by itself.
- Everything has a source, or says that it is a teaching choice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from simengine.quantities import Range
from simengine.scenario.conditions import CONDITION, Condition
from simengine.scenario.digest import SHOWN
from simengine.scenario.forms import (
    FORMAT,
    NAME,
    TEXT,
    WHEN,
    Key,
    ListOf,
    MapOf,
    Record,
    a_range,
    given,
    keys_of,
)
from simengine.scenario.model import ADJUST, STATE, AnyAdjust, State

BACK = "back"
"""Where a complication leads: the state that the baby came from."""

ADJUSTED = MapOf(ListOf(ADJUST, "a list of shifts", 1), "a map of observations", 1)
SOURCE = given(TEXT, "Where it is from, or: teaching choice.", mark=SHOWN)


@dataclass(frozen=True, slots=True)
class Care:
    """Care that has a name: ``condition`` holds while it is given, and given well enough."""

    name: str
    condition: Condition = field(
        metadata=given(CONDITION, "While this holds.", key="when", by_hand=True, needed=True)
    )
    source: str = field(metadata=SOURCE)
    about: str = field(default="", metadata=given(TEXT, "What it says, for people.", mark=SHOWN))


@dataclass(frozen=True, slots=True)
class Rule:
    """What one thing does to the baby. ``adjust``: the shifts and limits of each observation.

    ``gestation``: only for a baby of so many completed days.
    """

    name: str
    adjust: Mapping[str, tuple[AnyAdjust, ...]] = field(
        metadata=given(
            ADJUSTED, "What it shifts or limits, by observation.", by_hand=True, needed=True
        )
    )
    source: str = field(metadata=SOURCE)
    gestation: Range | None = field(
        default=None,
        metadata=given(
            a_range("a range of gestations such as below 28 wk", unit="d", reads="range"),
            "Only for a baby of this gestation.",
        ),
    )
    about: str = field(default="", metadata=given(TEXT, "What it says, for people.", mark=SHOWN))


@dataclass(frozen=True, slots=True)
class Begins:
    """How a complication begins in a state for which it is turned on."""

    when: Condition | None = field(default=None, metadata=given(CONDITION, "Once this holds."))
    lasting_ms: int = field(
        default=0, metadata=given(WHEN, "It has held for this long without a break.", key="lasting")
    )
    on: str | None = field(default=None, metadata=given(NAME, "A named event."))
    words: str = field(
        default="", metadata=given(TEXT, "What it waits for, in words for people.", mark=SHOWN)
    )


@dataclass(frozen=True, slots=True)
class Complication:
    """What a scenario may turn on: a few states of its own, or shifts in those that there are.

    Of its states the first is entered, and ``back`` leads back. ``begins``: ``None`` where it is
    a facilitator's hand alone that leads there.
    """

    name: str
    begins: Begins | None = field(
        metadata=given(
            Record("how it begins", keys_of(Begins)),
            "How it begins; left out: by a facilitator's hand.",
            by_hand=True,
            optional=True,
        )
    )
    states: Mapping[str, State] = field(
        metadata=given(
            MapOf(STATE, "a map of states", 1),
            "Its states, the first first; 'to: back' leads to where the baby came from.",
            by_hand=True,
            optional=True,
        )
    )
    adjust: Mapping[str, tuple[AnyAdjust, ...]] = field(
        metadata=given(
            ADJUSTED,
            "What it shifts or limits in the states for which it is turned on.",
            by_hand=True,
            optional=True,
        )
    )
    source: str = field(metadata=SOURCE)
    about: str = field(default="", metadata=given(TEXT, "What it says, for people.", mark=SHOWN))


@dataclass(frozen=True, slots=True)
class Physiology:
    """What a file says, for one baby under one protocol."""

    id: str = field(metadata=given(NAME, "The name of this file without .yaml."))
    title: str = field(metadata=given(TEXT, "What people call it."))
    care: Mapping[str, Care] = field(
        metadata=given(
            MapOf(Record("care that has a name", keys_of(Care), name="care"), "a map of care"),
            "Care that guards and rules ask for by its name.",
            by_hand=True,
            optional=True,
        )
    )
    rules: Mapping[str, Rule] = field(
        metadata=given(
            MapOf(Record("a rule", keys_of(Rule), name="rule"), "a map of rules"),
            "What is so for every baby; a scenario sets one aside with 'without'.",
            by_hand=True,
            optional=True,
        )
    )
    complications: Mapping[str, Complication] = field(
        metadata=given(
            MapOf(
                Record("a complication", keys_of(Complication), name="complication"),
                "a map of complications",
            ),
            "What may come to pass where a scenario turns it on.",
            by_hand=True,
            optional=True,
        )
    )


FILE = Record(
    "what care does to the baby",
    {"format": Key(FORMAT, needed=True), **keys_of(Physiology)},
    about="What care, or its lack, does to any baby. A vocabulary names it.",
)
"""What a file of physiology holds."""
