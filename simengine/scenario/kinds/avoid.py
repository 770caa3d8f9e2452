"""``avoid``: what is not advised here, or is unsafe in any baby."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Self

from simengine.scenario.conditions import CONDITION, All, Condition
from simengine.scenario.digest import SHOWN
from simengine.scenario.forms import (
    FLAG,
    NAME,
    PERCENT,
    SHARE,
    TIME,
    WHEN,
    AnyForm,
    ByKey,
    Key,
    Record,
    Value,
    given,
)
from simengine.scenario.key_item import ACTIONS_ANY, AskedAction, Item

if TYPE_CHECKING:
    from simengine.scenario.checks.item_at import ItemAt
    from simengine.scenario.item_reader import ItemReader


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

    @classmethod
    def read(cls, reader: ItemReader) -> Self:
        """Return one as it is written. What is wrong goes to the book of its place."""
        what = _read_avoided(reader)
        begun = reader.what.get("begin") is not None
        if isinstance(what, AskedAction) and reader.place.get("while") is None:
            last = all(reader.vocabulary.actions[name].lasting for name in what.actions)
            if reader.place.get("lasting") is not None and (begun or not last):
                reader.place.key("lasting").say(
                    "'lasting' only with an action that lasts, or with a condition",
                    "needless-key",
                    found="",
                )
        return cls(**reader.fields, what=what or All(()), begun=begun)

    def named(self, reader: ItemReader) -> tuple[str, str]:
        """Name it after what is not advised."""
        match self.what:
            case AskedAction(action):
                return action, f"{reader.asked_words(self.what)}: not advised here"
            case GivenDose():
                return "dose", "A dose that is wrong for any baby"
            case GivenAgain(action):
                return action, f"{reader.vocabulary.actions[action].label}: given again too soon"
            case condition:
                words = reader.condition_words(condition)
                return reader.condition_name(condition), f"{words}: not advised here"

    def check(self, item_at: ItemAt) -> None:
        """Note a condition that never holds for so long, or always does."""
        avoid = item_at.at.get("avoid")
        parts = self.conditions
        if not parts:
            if item_at.reach.longest_within(item_at.states) == 0.0:
                item_at.never(item_at.at.get("during") or avoid, "a state that lasts", "none")
            return
        condition = parts[0] if len(parts) == 1 else All(parts)
        holds = item_at.can_hold(avoid, condition)
        if not holds:
            return
        longest = item_at.reach.longest_within(holds)
        if longest < (self.lasting_ms or 0):
            item_at.never(
                item_at.at.get("lasting") or avoid,
                f"at most the {item_at.words(longest)} that this condition can last",
            )
        elif item_at.always_holds(condition):
            item_at.always_met(avoid, "a condition that a team can avoid")


def _read_avoided(reader: ItemReader) -> AskedAction | GivenDose | GivenAgain | Condition | None:
    what = reader.what
    begin, dose, several = what.get("begin"), what.get("dose"), what.get("any")
    if begin is not None:
        return reader.action(begin)
    if dose is not None:
        again_at = dose.get("again")
        if again_at is not None:
            subject, within = reader.action(again_at), reader.time_at(dose.get("within"))
            if subject is None or within is None:
                return None
            if reader.vocabulary.actions[subject.action].dose is None:
                again_at.say(
                    "an action that carries a dose", "no-dose", found=f"'{subject.action}'"
                )
            return GivenAgain(subject.action, within)
        beyond_at = dose.get("beyond")
        beyond = beyond_at.quantity("%") if beyond_at is not None else None
        if beyond_at is not None and beyond is not None and beyond < 100:
            beyond_at.say("a share of 100 % or more", "share")
        return GivenDose(beyond / 100 if beyond is not None else None)
    names = several is not None and any(item.is_scalar() for item in several.elements())
    return reader.action(what) if what.is_scalar() or names else reader.condition(what)
