"""The marking guide of a scenario as plain data: its key items, of six kinds, and their weights."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from simengine.scenario.digest import SHOWN
from simengine.scenario.forms import (
    FLAG,
    NAME,
    SHARE,
    TEXT,
    TIME,
    ByKey,
    Form,
    Key,
    Record,
    Value,
    given,
    keys_of,
)
from simengine.scenario.key_item import (
    ASKED,
    ASKED_AGAIN,
    USUAL_WAY,
    WAYS,
    Ahead,
    Anchor,
    Asked,
    AskedAction,
    AskedFault,
    AskedKnowledge,
    AskedSetting,
    DoseAsked,
    Importance,
    Item,
    Kind,
    Way,
    Windowed,
)
from simengine.scenario.kinds import CLASSES
from simengine.scenario.kinds.avoid import Avoid, GivenAgain, GivenDose
from simengine.scenario.kinds.expect import Expect
from simengine.scenario.kinds.keep import Keep
from simengine.scenario.kinds.order import Order
from simengine.scenario.kinds.repeat import Repeat
from simengine.scenario.kinds.respond import Respond

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

__all__ = [
    "IMPORTANCE_WEIGHTS",
    "ITEM",
    "ITEMS",
    "SCORING",
    "STANDARD",
    "USUAL_WAY",
    "WAYS",
    "WEIGHTS",
    "Ahead",
    "Anchor",
    "Asked",
    "AskedAction",
    "AskedFault",
    "AskedKnowledge",
    "AskedSetting",
    "Avoid",
    "DoseAsked",
    "Expect",
    "GivenAgain",
    "GivenDose",
    "Importance",
    "Item",
    "Keep",
    "Kind",
    "Order",
    "Repeat",
    "Respond",
    "Scoring",
    "Standard",
    "Way",
    "Windowed",
    "item_form",
]
