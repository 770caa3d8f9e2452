"""What a kind of key item reads one with.

Rules of this file:

- ``latest`` is ``ideal`` where it is not given.
- A fault to be found or put right is counted from its planting, so such an item has no ``from``.
- ``any`` with a list of names is any one of these actions; with a list of maps it is a condition.
- What could not be read is ``None``, empty or 0, and what is wrong with it stands in the book.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, NamedTuple

from simengine.nearest_name import name_hint
from simengine.scenario.conditions import (
    All,
    AnyOf,
    ClockIs,
    Condition,
    Doing,
    Done,
    FaultIs,
    Given,
    Lately,
    Not,
    Observed,
    Read,
    Seen,
    SettingIs,
    SoFar,
    SupplyIs,
    UnlessChanged,
)
from simengine.scenario.key_item import (
    Anchor,
    Asked,
    AskedAction,
    AskedFault,
    AskedKnowledge,
    AskedSetting,
    DoseAsked,
    asked_name,
)
from simengine.scenario.model import Fault
from simengine.scenario.place import Place, text_of
from simengine.scenario.read_conditions import (
    Context,
    is_protocol_value,
    read_condition,
    read_duration,
    read_range,
    read_wanted,
)
from simengine.scenario.vocabulary import Vocabulary
from simengine.scenario.wanted import Wanted
from simengine.scenario.words import asked_words, condition_words


class Names(NamedTuple):
    """The names of the scenario itself that a key item may use.

    A section that could not be read is ``None``: nothing is said about names that stand there.
    """

    states: frozenset[str]
    objectives: Mapping[str, str] | None
    roles: Mapping[str, str] | None
    references: Mapping[str, str] | None
    faults: Mapping[str, Fault]
    clock: str | None
    started: bool


NO_NAMES = Names(frozenset(), None, None, None, {}, None, started=False)
"""Of an item that belongs to no scenario."""


class ItemReader(NamedTuple):
    """An item that is read.

    ``place``: where it stands; ``what``: where what it asks stands; ``fields``: those of its class
    that were read by their forms alone.
    """

    place: Place
    what: Place
    fields: Mapping[str, Any]
    context: Context
    names: Names = NO_NAMES

    @property
    def vocabulary(self) -> Vocabulary:
        """The vocabulary that its names are of."""
        return self.context.vocabulary

    def time_at(self, place: Place | None, *, negative: bool = False) -> int | None:
        """Read a time in ms."""
        return read_duration(place, self.context, negative=negative)

    def window(self) -> tuple[int, int]:
        """Read ``ideal`` and ``latest``, in ms; the second is the first where it is not given."""
        ideal_at, latest_at = self.place.need("ideal"), self.place.get("latest")
        ideal, latest = self.time_at(ideal_at), self.time_at(latest_at)
        if ideal is not None and latest is not None and latest < ideal:
            assert latest_at is not None
            latest_at.say(
                f"'latest' at or after 'ideal' ({text_of(ideal_at)})", "latest-before-ideal"
            )
        return ideal or 0, latest if latest is not None else ideal or 0

    def asked(self) -> Asked | None:
        """Read what is asked: an action, knowledge, a fault found or put right, or a setting."""
        what = self.what
        subject: Asked | None
        if what.is_scalar() or what.get("any") is not None:
            subject = self.action(what)
        elif what.get("know") is not None:
            subject = self._knowledge()
        elif what.get("find") is not None or what.get("mend") is not None:
            subject = self._fault()
        else:
            subject = self._setting()
        self._no_telling(subject)
        return subject

    def asked_again(self) -> AskedAction | AskedKnowledge | None:
        """Read what is asked again and again: an action or knowledge."""
        subject = self._knowledge() if self.what.get("know") is not None else self.action(self.what)
        self._no_telling(subject)
        return subject

    def actions(self, place: Place) -> tuple[str, ...]:
        """Read an action, or ``{any: a list of actions}``."""
        several = place.get("any")
        actions, wanted = self.vocabulary.actions, self.context.an_action
        if several is None:
            name = place.name(actions, wanted)
            return (name,) if name is not None else ()
        items = several.elements("a list of actions")
        named = [item.name(actions, wanted) for item in items]
        for number, name in enumerate(named):
            if name is not None and name in named[:number]:
                items[number].say("each action once", "duplicate-name")
        return tuple(name for name in named if name is not None)

    def action(self, place: Place) -> AskedAction | None:
        """Read an action that is asked, or any one of several."""
        actions = self.actions(place)
        return AskedAction(actions[0], actions[1:]) if actions else None

    def condition(self, place: Place) -> Condition | None:
        """Read a condition."""
        return read_condition(place, self.context)

    def anchor(self, asked: Asked | None) -> Anchor:
        """Read ``from``, what the window is counted from."""
        owner, place, names = self.place, self.place.get("from"), self.names
        actions = self.vocabulary.actions
        if isinstance(asked, AskedFault):
            if place is not None:
                owner.key("from").say(
                    "no 'from': it is counted from the planting of the fault",
                    "needless-key",
                    found="",
                )
            return Anchor("fault", asked.fault)
        nowhere = Anchor("start")
        if place is None:
            owner.need("from")
            return nowhere
        clock = [names.clock] if names.clock is not None else []
        if place.is_scalar():
            text = place.text()
            if text == "start":
                return Anchor("start")
            if text in clock or not names.started:
                return Anchor("clock")
            ways = ", ".join(f"'{way}'" for way in (*clock, "start"))
            hint = name_hint(text, (*clock, "start"))
            for kind, known in (
                ("state", names.states),
                ("action", actions),
                ("fault", names.faults),
            ):
                if text in known:
                    hint = f"write {{{kind}: {text}}}"
            place.say(
                f"{ways}, {{state: …}}, {{action: …}} or {{fault: …}}", "unknown-name", hint=hint
            )
            return nowhere
        kinds = [kind for kind in ("state", "action", "fault") if place.get(kind) is not None]
        if len(kinds) != 1:
            place.wrong_form("{state: …}, {action: …} or {fault: …}")
            return nowhere
        named = place.get(kinds[0])
        assert named is not None
        if kinds[0] == "state":
            name = named.name(sorted(names.states), "a state of this scenario")
            return Anchor("state", name)
        if kinds[0] == "action":
            return Anchor("action", named.name(actions, self.context.an_action))
        return Anchor("fault", named.name(names.faults, "a fault of start.faults"))

    def must(self) -> tuple[str, ...]:
        """Read ``must``: some of the item's own settings."""
        place, settings = self.place.get("must"), self.fields.get("settings", {})
        named = [
            item.name(settings, "a setting of this item")
            for item in (place.one_or_more("a list of settings") if place is not None else ())
        ]
        return tuple(name for name in named if name is not None)

    def dose(self, asked: Asked | None) -> DoseAsked | None:
        """Read the dose that is asked."""
        place, context = self.place, self.context
        amount_at, routes_at = place.get("dose"), place.get("routes")
        strength_at, flush_at, over_at = (place.get(key) for key in ("strength", "flush", "over"))
        keys = ("dose", "routes", "strength", "flush", "over")
        given = [key for key in keys if place.get(key) is not None]
        if not given or asked is None:
            return None
        dose = (
            context.vocabulary.actions[asked.action].dose
            if isinstance(asked, AskedAction)
            else None
        )
        if dose is None:
            place.key(given[0]).say(
                "an action that carries a dose", "no-dose", found=f"'{asked_name(asked)}'"
            )
            return None
        for other in asked.others if isinstance(asked, AskedAction) else ():
            others = context.vocabulary.actions[other].dose
            if others is None or others.unit != dose.unit:
                place.key(given[0]).say(
                    f"actions that all carry a dose in {dose.unit}", "no-dose", found=f"'{other}'"
                )
                return None
        amount: Wanted | None = None
        by_route: dict[str, Wanted] = {}
        if amount_at is not None and amount_at.is_map() and not is_protocol_value(amount_at):
            for route, value in amount_at.entries():
                known = amount_at.key(route).name_of_key(
                    dose.routes, f"a route of '{asked_name(asked)}'"
                )
                wanted = read_range(value, dose.unit, dose.tolerance, context)
                if known is not None and wanted is not None:
                    by_route[known] = wanted
        elif amount_at is not None:
            amount = read_range(amount_at, dose.unit, dose.tolerance, context)
        for part, at, unit in (
            ("strength", strength_at, dose.strength_unit),
            ("flush", flush_at, dose.flush_unit),
            ("over", over_at, dose.over_unit),
        ):
            if at is not None and unit is None:
                words = f"a {part}" if part != "over" else "a time over which it is given"
                place.key(part).say(
                    f"a dose with {words}",
                    "no-dose",
                    found=f"'{asked_name(asked)}', which has none",
                )
        routes = [
            item.name(dose.routes, f"a route of '{asked_name(asked)}'")
            for item in (routes_at.one_or_more("a list of routes") if routes_at is not None else ())
        ]
        return DoseAsked(
            amount=amount,
            by_route=by_route,
            routes=tuple(route for route in routes if route is not None),
            strength=self._part(strength_at, dose.strength_unit, dose.strength_tolerance),
            flush=self._part(flush_at, dose.flush_unit, dose.flush_tolerance),
            over=self._part(over_at, dose.over_unit, dose.over_tolerance),
        )

    def asked_words(self, asked: Asked) -> str:
        """Say what is asked, as a title."""
        return asked_words(asked, self.vocabulary, self.names.faults)

    def condition_words(self, condition: Condition) -> str:
        """Say a condition, as a title."""
        words = condition_words(condition, self.vocabulary)
        return words[:1].upper() + words[1:]

    def condition_name(self, condition: Condition) -> str:
        """Return the name of what a condition is about first."""
        return _condition_name(condition)

    def _no_telling(self, subject: Asked | None) -> None:
        """Complain of ``told`` beside what is not knowledge."""
        if self.place.get("told") is not None and not isinstance(subject, AskedKnowledge | None):
            self.place.key("told").say("'told' only with 'know'", "needless-key", found="")

    def _knowledge(self) -> AskedKnowledge | None:
        """Read ``{know: …}``; ``told`` may stand in it or beside it."""
        named = self.what.need("know")
        told_at = self.what.get("told") or self.place.get("told")
        aloud = told_at.truth() if told_at is not None else False
        if named is None:
            return None
        name = named.name(self.vocabulary.observations, self.context.an_observation)
        if name is not None and not aloud and not self.vocabulary.revealing(name):
            named.say(
                "an observation that an action reveals",
                "known-anyway",
                found=f"'{name}', which anyone can see",
                hint="with 'told: true' it has to be said aloud",
            )
            return None
        return AskedKnowledge(name, aloud) if name is not None else None

    def _fault(self) -> AskedFault | None:
        find, mend = self.what.get("find"), self.what.get("mend")
        place = find or mend
        assert place is not None
        fault = place.name(self.names.faults, "a fault of start.faults")
        status: Literal["found", "mended"] = "found" if find is not None else "mended"
        return AskedFault(fault, status) if fault is not None else None

    def _setting(self) -> AskedSetting | None:
        place, context = self.what, self.context
        named, to, change = place.get("set"), place.get("to"), place.get("change")
        if named is None:
            place.wrong_form(
                "an action, {any: …}, {set: …, to: …}, {know: OBSERVATION}, {find: FAULT} or "
                "{mend: FAULT}"
            )
            return None
        name = named.name(context.vocabulary.settings, context.a_setting)
        if (to is None) == (change is None):
            given = "neither" if to is None else "both"
            place.say("either 'to' or 'change' beside 'set'", "to-or-change", found=given)
            return None
        if name is None:
            return None
        setting = context.vocabulary.settings[name]
        if to is not None:
            wanted = read_wanted(to, setting, context)
            return AskedSetting(name, to=wanted) if wanted is not None else None
        assert change is not None
        if setting.words:
            change.say(
                "'to' with one of its words",
                "change-of-words",
                hint=f"'{name}' is told in words: {', '.join(setting.words)}",
            )
            return None
        direction = change.word(("lower", "higher"))
        return AskedSetting(name, direction="lower" if direction == "lower" else "higher")

    def _part(self, place: Place | None, unit: str | None, tolerance: float) -> Wanted | None:
        if place is None or unit is None:
            return None
        return read_range(place, unit, tolerance, self.context)


def _condition_name(condition: Condition) -> str:
    match condition:
        case Doing(name) | Done(name) | Given(name) | Seen(name) | UnlessChanged(name):
            return name
        case SettingIs(name) | Observed(name) | Read(name) | SupplyIs(name) | FaultIs(name):
            return name
        case ClockIs():
            return "clock"
        case All(parts) | AnyOf(parts):
            named = [p for p in parts if isinstance(p, (SettingIs, Observed))]
            return _condition_name(named[0] if named else parts[0])
        case Not(part) | SoFar(part) | Lately(part):
            return _condition_name(part)
