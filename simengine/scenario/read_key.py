"""The ``key`` of a scenario file → key items.

Rules of this file:

- The kind of an item is the one of the six words that it has.
- An id that is not given is ``kind:name``, the next of the same kind and name ``kind:name:2``, …
- ``latest`` is ``ideal`` where it is not given; ``during`` the whole session.
- A fault to be found or put right is counted from its planting, so such an item has no ``from``.
- ``any`` with a list of names is any one of these actions; with a list of maps it is a condition.
- What is unsafe in any baby is read here too: it is an ``avoid`` item of the protocol.
- ``taught: NAME`` leaves an item out under a protocol that has no such value.
- ``reference: {protocol: NAME}`` is the source that the chosen protocol gives for that value.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Literal, NamedTuple

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
from simengine.scenario.key import (
    CLASSES,
    Anchor,
    Asked,
    AskedAction,
    AskedFault,
    AskedKnowledge,
    AskedSetting,
    Avoid,
    DoseAsked,
    Expect,
    GivenAgain,
    GivenDose,
    Item,
    Keep,
    Order,
    Repeat,
    Respond,
    Windowed,
)
from simengine.scenario.model import Fault, MendedBySetting
from simengine.scenario.place import Place, nearest, text_of
from simengine.scenario.read_conditions import (
    Context,
    is_protocol_value,
    read_condition,
    read_duration,
    read_range,
    read_wanted,
    scope_of,
)
from simengine.scenario.read_fields import Scope, read_fields
from simengine.scenario.wanted import OneOf, Wanted
from simengine.scenario.words import asked_words, condition_words

PROTOCOL_SOURCE = "protocol:"
"""What the reference of an item begins with whose source is that of a protocol's value."""
OF_THE_COT = "cot"
"""The reference of an item whose source is that of the catalogue of the cot."""
MOST_ITEMS = 500
"""Ten times what anybody could watch for; the checks hold each against all others."""


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


def read_key(place: Place, context: Context, names: Names) -> tuple[tuple[Item, Place], ...]:
    """Read the key: each item with its place. An item that has a problem is left out."""
    found: list[tuple[Item, Place]] = []
    taken: dict[str, int] = {}
    given: dict[str, int] = {}
    items = place.elements("a list of key items")
    if len(items) > MOST_ITEMS:
        place.say(f"at most {MOST_ITEMS} key items", "too-many", found=f"{len(items):,}")
        return ()
    for item_at in items:
        own = item_at.get("id")
        if own is not None and (text := own.text()):
            if text in given:
                own.say("an id for each item", "duplicate-id", hint=f"key[{given[text]}] has it")
            given[text] = int(item_at.path[-1])
    scope = scope_of(
        context,
        {
            "state": (sorted(names.states), "a state of this scenario"),
            "objective": (names.objectives, "an objective of this scenario"),
            "role": (names.roles, "a role of this scenario"),
        },
    )
    for item_at in items:
        if not _is_taught(item_at.get("taught"), context):
            continue
        item = _item(item_at, scope, names, taken, given)
        if item is not None:
            found.append((item, item_at))
    return tuple(found)


def _is_taught(place: Place | None, context: Context) -> bool:
    """Whether the protocol teaches what an item asks: it has the value that ``taught`` names."""
    if place is None or context.protocol is None:
        return True
    name = place.text()
    if name in context.protocol.values:
        return True
    from difflib import get_close_matches

    near = get_close_matches(name, context.protocol.values, n=1, cutoff=0.9)
    if near:
        place.name(context.protocol.values, f"a value of protocol '{context.protocol.id}'")
    return False


def _item(
    place: Place, scope: Scope, names: Names, taken: dict[str, int], ids: dict[str, int]
) -> Item | None:
    context = scope.context
    kinds = [kind for kind in CLASSES if place.get(kind) is not None]
    if len(kinds) != 1:
        from difflib import get_close_matches

        if place.is_map():
            found = " and ".join(f"'{kind}'" for kind in kinds) or "none of them"
            near = [k for key, _ in place.entries() for k in get_close_matches(key, CLASSES, n=1)]
            hint = f"did you mean '{near[0]}'?" if near and not kinds else ""
            place.say(f"one of {', '.join(CLASSES)}", "item-kind", found=found, hint=hint)
        else:
            place.wrong_form("a key item such as {expect: …, from: …, ideal: 60 s}")
        return None
    kind = kinds[0]
    what = place.get(kind)
    assert what is not None
    given = read_fields(CLASSES[kind], place, scope)
    reference = _reference(place.get("reference"), context, names)
    item = READERS[kind].read(place, what, given, scope, names)
    item = replace(item, reference=reference)
    if not place.is_sound():
        return None
    item = _from_the_cot(item, names.faults)
    return _named(item, kind, context, names, taken, ids)


def _from_the_cot(item: Item, faults: Mapping[str, Fault]) -> Item:
    """Give an item that asks for a fault of the catalogue the reason and source that it was not."""
    fault = faults[item.asked.fault] if isinstance(item.asked, AskedFault) else None
    if fault is None or not fault.row:
        return item
    protocol = (
        fault.mended_by.wanted.protocol
        if isinstance(fault.mended_by, MendedBySetting)
        and not isinstance(fault.mended_by.wanted, OneOf)
        else None
    )
    source = OF_THE_COT if protocol is None else PROTOCOL_SOURCE + protocol
    return replace(item, why=item.why or fault.why, reference=item.reference or source)


def _named(
    item: Item,
    kind: str,
    context: Context,
    names: Names,
    taken: dict[str, int],
    given: dict[str, int],
) -> Item:
    """Give an item the id and title that it was not given."""
    base, title = READERS[kind].name(item, context, names)
    identity = item.id
    if not identity:
        name = f"{kind}:{base}"
        count = taken.get(name, 0)
        while True:
            count += 1
            full = name if count == 1 else f"{name}:{count}"
            if full not in given:
                break
        taken[name] = count
        identity = full
    return replace(item, id=identity, title=item.title or title)


def _asked_name(asked: Asked) -> str:
    if isinstance(asked, AskedAction):
        return asked.action
    if isinstance(asked, AskedKnowledge):
        return asked.observation
    return asked.setting if isinstance(asked, AskedSetting) else asked.fault


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


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _reference(place: Place | None, context: Context, names: Names) -> str | None:
    if place is None or not is_protocol_value(place):
        return _of(place, names.references, "an entry of 'references'")
    if context.protocol is None:
        return None
    value = _of(
        place.need("protocol"),
        {name: value.label for name, value in context.protocol.values.items()},
        f"a value of protocol '{context.protocol.id}'",
    )
    return PROTOCOL_SOURCE + value if value is not None else None


def _of(place: Place | None, allowed: Mapping[str, str] | None, what: str) -> str | None:
    if place is None or allowed is None:
        return None
    return place.name(allowed, what)


def _asked(place: Place, owner: Place, context: Context, names: Names) -> Asked | None:
    if place.is_scalar() or place.get("any") is not None:
        return _asked_action(place, context)
    if place.get("know") is not None:
        return _asked_knowledge(place, owner, context)
    fault_at = place.get("find") or place.get("mend")
    if fault_at is not None:
        fault = fault_at.name(names.faults, "a fault of start.faults")
        finding = place.get("find") is not None
        status: Literal["found", "mended"] = "found" if finding else "mended"
        return AskedFault(fault, status) if fault is not None else None
    return _asked_setting(place, context)


def _actions(place: Place, context: Context) -> tuple[str, ...]:
    """Read an action, or ``{any: a list of actions}``; empty after a problem."""
    several = place.get("any")
    if several is None:
        name = place.name(context.vocabulary.actions, context.an_action)
        return (name,) if name is not None else ()
    items = several.elements("a list of actions")
    named = [item.name(context.vocabulary.actions, context.an_action) for item in items]
    for number, name in enumerate(named):
        if name is not None and name in named[:number]:
            items[number].say("each action once", "duplicate-name")
    return tuple(name for name in named if name is not None)


def _asked_action(place: Place, context: Context) -> AskedAction | None:
    actions = _actions(place, context)
    return AskedAction(actions[0], actions[1:]) if actions else None


def _asked_knowledge(place: Place, owner: Place, context: Context) -> AskedKnowledge | None:
    """Read ``{know: …}``; ``told`` may stand in it or beside it."""
    named, told_at = place.need("know"), place.get("told") or owner.get("told")
    aloud = told_at.truth() if told_at is not None else False
    if named is None:
        return None
    name = named.name(context.vocabulary.observations, context.an_observation)
    if name is not None and not aloud and not context.vocabulary.revealing(name):
        named.say(
            "an observation that an action reveals",
            "known-anyway",
            found=f"'{name}', which anyone can see",
            hint="with 'told: true' it has to be said aloud",
        )
        return None
    return AskedKnowledge(name, aloud) if name is not None else None


def _no_telling(place: Place, asked: Asked | None) -> None:
    """Complain of ``told`` beside what is not knowledge."""
    if place.get("told") is not None and not isinstance(asked, AskedKnowledge | None):
        place.key("told").say("'told' only with 'know'", "needless-key", found="")


def _asked_setting(place: Place, context: Context) -> AskedSetting | None:
    named, to, change = place.get("set"), place.get("to"), place.get("change")
    if named is None:
        place.wrong_form(
            "an action, {any: …}, {set: …, to: …}, {know: OBSERVATION}, {find: FAULT} or "
            "{mend: FAULT}"
        )
        return None
    name = named.name(context.vocabulary.settings, context.a_setting)
    if (to is None) == (change is None):
        found = "neither" if to is None else "both"
        place.say("either 'to' or 'change' beside 'set'", "to-or-change", found=found)
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


def _anchor(
    place: Place | None, owner: Place, asked: Asked | None, context: Context, names: Names
) -> Anchor:
    if isinstance(asked, AskedFault):
        if place is not None:
            owner.key("from").say(
                "no 'from': it is counted from the planting of the fault", "needless-key", found=""
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
        hint = nearest(text, (*clock, "start"))
        for kind, known in (
            ("state", names.states),
            ("action", context.vocabulary.actions),
            ("fault", names.faults),
        ):
            if text in known:
                hint = f"write {{{kind}: {text}}}"
        place.say(f"{ways}, {{state: …}}, {{action: …}} or {{fault: …}}", "unknown-name", hint=hint)
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
        return Anchor("action", named.name(context.vocabulary.actions, context.an_action))
    return Anchor("fault", named.name(names.faults, "a fault of start.faults"))


def _window(place: Place, context: Context) -> tuple[int, int]:
    """Read ``ideal`` and ``latest``; the second is the first where it is not given."""
    ideal_at, latest_at = place.need("ideal"), place.get("latest")
    ideal = read_duration(ideal_at, context)
    latest = read_duration(latest_at, context)
    if ideal is not None and latest is not None and latest < ideal:
        assert latest_at is not None
        latest_at.say(f"'latest' at or after 'ideal' ({text_of(ideal_at)})", "latest-before-ideal")
    return ideal or 0, latest if latest is not None else ideal or 0


def _expect(place: Place, what: Place, given: dict[str, Any], scope: Scope, names: Names) -> Expect:
    asked = _asked(what, place, scope.context, names)
    _no_telling(place, asked)
    ideal, latest = _window(place, scope.context)
    early_at = place.get("not_before")
    early = read_duration(early_at, scope.context, negative=True)
    if early_at is not None and early is not None and early > ideal:
        early_at.say("'not_before' at or before 'ideal'", "not-before-after-ideal")
    return Expect(
        **given,
        asked=asked or AskedAction(""),
        anchor=_anchor(place.get("from"), place, asked, scope.context, names),
        ideal_ms=ideal,
        latest_ms=latest,
        not_before_ms=early,
        must=_must(place.get("must"), given),
        dose=_dose(place, asked, scope.context),
    )


def _respond(
    place: Place, what: Place, given: dict[str, Any], scope: Scope, names: Names
) -> Respond:
    asked = _asked(what, place, scope.context, names)
    _no_telling(place, asked)
    ideal, latest = _window(place, scope.context)
    return Respond(
        **given,
        asked=asked or AskedAction(""),
        ideal_ms=ideal,
        latest_ms=latest,
        must=_must(place.get("must"), given),
        dose=_dose(place, asked, scope.context),
    )


def _repeat(place: Place, what: Place, given: dict[str, Any], scope: Scope, names: Names) -> Repeat:
    asked: AskedAction | AskedKnowledge | None
    if what.get("know") is not None:
        asked = _asked_knowledge(what, place, scope.context)
    else:
        asked = _asked_action(what, scope.context)
    _no_telling(place, asked)
    item = Repeat(**given, asked=asked or AskedAction(""))
    every, spoken = place.get("every"), place.get("spoken")
    if every is not None and every.is_sound() and item.every_ms == 0:
        every.say("a time above 0 s", "zero-time")
    action = asked.action if isinstance(asked, AskedAction) else None
    reads = scope.context.vocabulary.actions[action].reads if action is not None else None
    if spoken is not None and item.spoken and action is not None and reads is None:
        spoken.say(
            "an action that reads an observation",
            "spoken-unread",
            found=f"'{action}', which reads none",
        )
    return item


def _keep(place: Place, what: Place, given: dict[str, Any], scope: Scope, names: Names) -> Keep:
    item = Keep(**given)
    share = place.get("share")
    if share is not None and item.share == 0:
        share.say("a share above 0 %", "share")
    return item


def _order(place: Place, what: Place, given: dict[str, Any], scope: Scope, names: Names) -> Order:
    items = what.elements("a list of actions")
    members: list[tuple[str, ...]] = []
    for item in items:
        member = _actions(item, scope.context)
        if any(name in before for before in members for name in member):
            item.say("each action once", "duplicate-name")
        members.append(member)
    return Order(**given, members=tuple(members))


def _avoid(place: Place, what: Place, given: dict[str, Any], scope: Scope, names: Names) -> Avoid:
    return read_avoid(place, what, given, scope.context)


def read_avoid(place: Place, what: Place, given: Mapping[str, Any], context: Context) -> Avoid:
    """Read an ``avoid`` item. ``given``: its fields that are read by their forms alone."""
    avoided = _avoided(what, context)
    item = Avoid(**given, what=avoided or All(()), begun=what.get("begin") is not None)
    if isinstance(avoided, AskedAction) and place.get("while") is None:
        lasts = (context.vocabulary.actions[name].lasting for name in avoided.actions)
        if place.get("lasting") is not None and (item.begun or not all(lasts)):
            place.key("lasting").say(
                "'lasting' only with an action that lasts, or with a condition",
                "needless-key",
                found="",
            )
    return item


def _window_name(item: Windowed, context: Context, names: Names) -> tuple[str, str]:
    return _asked_name(item.asked), asked_words(item.asked, context.vocabulary, names.faults)


def _repeat_name(item: Repeat, context: Context, names: Names) -> tuple[str, str]:
    if isinstance(item.asked, AskedAction):
        title = context.vocabulary.actions[item.asked.action].label
    else:
        title = asked_words(item.asked, context.vocabulary, names.faults)
    return _asked_name(item.asked), f"{title}, repeated"


def _keep_name(item: Keep, context: Context, names: Names) -> tuple[str, str]:
    words = _capital(condition_words(item.condition, context.vocabulary))
    return _condition_name(item.condition), words


def _order_name(item: Order, context: Context, names: Names) -> tuple[str, str]:
    labels = [context.vocabulary.actions[name].label for name in item.actions]
    return item.actions[0], " before ".join(labels)


def _avoid_name(item: Avoid, context: Context, names: Names) -> tuple[str, str]:
    vocabulary = context.vocabulary
    match item.what:
        case AskedAction(action):
            return action, f"{asked_words(item.what, vocabulary, {})}: not advised here"
        case GivenDose():
            return "dose", "A dose that is wrong for any baby"
        case GivenAgain(action):
            return action, f"{vocabulary.actions[action].label}: given again too soon"
        case condition:
            words = _capital(condition_words(condition, vocabulary))
            return _condition_name(condition), f"{words}: not advised here"


class Reader(NamedTuple):
    """How an item of a kind is read, and what it is called where an author does not say.

    ``read``: from the item's place, the place of what it asks, and the fields that were read by
    their forms alone; ``name``: the second part of its id, and its title.
    """

    read: Callable[[Place, Place, dict[str, Any], Scope, Names], Item]
    name: Callable[[Any, Context, Names], tuple[str, str]]


READERS: dict[str, Reader] = {
    "expect": Reader(_expect, _window_name),
    "respond": Reader(_respond, _window_name),
    "repeat": Reader(_repeat, _repeat_name),
    "keep": Reader(_keep, _keep_name),
    "order": Reader(_order, _order_name),
    "avoid": Reader(_avoid, _avoid_name),
}


def _avoided(
    what: Place, context: Context
) -> AskedAction | GivenDose | GivenAgain | Condition | None:
    begin, dose, several = what.get("begin"), what.get("dose"), what.get("any")
    if begin is not None:
        return _asked_action(begin, context)
    if dose is not None:
        again_at = dose.get("again")
        if again_at is not None:
            asked = _asked_action(again_at, context)
            within = read_duration(dose.get("within"), context)
            if asked is None or within is None:
                return None
            if context.vocabulary.actions[asked.action].dose is None:
                again_at.say("an action that carries a dose", "no-dose", found=f"'{asked.action}'")
            return GivenAgain(asked.action, within)
        beyond_at = dose.get("beyond")
        beyond = beyond_at.quantity("%") if beyond_at is not None else None
        if beyond_at is not None and beyond is not None and beyond < 100:
            beyond_at.say("a share of 100 % or more", "share")
        return GivenDose(beyond / 100 if beyond is not None else None)
    names = several is not None and any(item.is_scalar() for item in several.elements())
    if what.is_scalar() or names:
        return _asked_action(what, context)
    return read_condition(what, context)


def _must(place: Place | None, given: Mapping[str, Any]) -> tuple[str, ...]:
    """Read ``must``: some of the item's own settings."""
    settings = given.get("settings", {})
    named = [
        item.name(settings, "a setting of this item")
        for item in (place.one_or_more("a list of settings") if place is not None else ())
    ]
    return tuple(name for name in named if name is not None)


def _dose(place: Place, asked: Asked | None, context: Context) -> DoseAsked | None:
    amount_at, routes_at = place.get("dose"), place.get("routes")
    strength_at, flush_at, over_at = (place.get(key) for key in ("strength", "flush", "over"))
    keys = ("dose", "routes", "strength", "flush", "over")
    given = [key for key in keys if place.get(key) is not None]
    if not given or asked is None:
        return None
    dose = context.vocabulary.actions[asked.action].dose if isinstance(asked, AskedAction) else None
    if dose is None:
        place.key(given[0]).say(
            "an action that carries a dose", "no-dose", found=f"'{_asked_name(asked)}'"
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
                dose.routes, f"a route of '{_asked_name(asked)}'"
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
                f"a dose with {words}", "no-dose", found=f"'{_asked_name(asked)}', which has none"
            )
    routes = [
        item.name(dose.routes, f"a route of '{_asked_name(asked)}'")
        for item in (routes_at.one_or_more("a list of routes") if routes_at is not None else ())
    ]
    return DoseAsked(
        amount=amount,
        by_route=by_route,
        routes=tuple(route for route in routes if route is not None),
        strength=_part(strength_at, dose.strength_unit, dose.strength_tolerance, context),
        flush=_part(flush_at, dose.flush_unit, dose.flush_tolerance, context),
        over=_part(over_at, dose.over_unit, dose.over_tolerance, context),
    )


def _part(
    place: Place | None, unit: str | None, tolerance: float, context: Context
) -> Wanted | None:
    if place is None or unit is None:
        return None
    return read_range(place, unit, tolerance, context)
