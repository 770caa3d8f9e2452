"""A vocabulary file's tree → ``Vocabulary``.

Each function reads one kind of entry. Names are checked once all entries are there, since actions
name observations and observations name actions.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING

from simengine.quantities import QuantityError, Range, parse_quantity
from simengine.quantities.units import known_unit, nearest_unit, same_dimension
from simengine.quantities.wording import in_a_sentence
from simengine.scenario.digest import stamps
from simengine.scenario.place import Place, text_of
from simengine.scenario.vocabulary import (
    Action,
    Dose,
    Drain,
    Equation,
    Observation,
    PlausibleInfant,
    RevealedBy,
    Setting,
    Supply,
    Vocabulary,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import TypeVar

    Entry = TypeVar("Entry")

_FORMS = ("do", "did", "doing", "noun")


def read_vocabulary(root: Place) -> Vocabulary:
    """Read a vocabulary. Problems go to ``root.book``; with errors the result is only for names."""
    phases = _texts(root.need("phases"))
    roles, stand_ins = _roles(root.need("roles"))
    settings = _entries(root.need("settings"), _setting)
    actions = _entries(
        root.need("actions"), lambda name, place: _action(name, place, phases, roles, settings)
    )
    observations = _entries(
        root.need("observations"), lambda name, place: _observation(name, place, actions)
    )
    supplies = _entries(
        root.get("supplies"), lambda name, place: _supply(name, place, actions, settings)
    )
    equations = _entries(root.get("equations"), _equation)
    _check_reads(root, observations)
    _check_ends(root, actions)
    _check_keys(root, actions)
    vocabulary = Vocabulary(
        id=text_of(root.need("id")),
        title=text_of(root.need("title")),
        phases=phases,
        roles=roles,
        settings=settings,
        observations=observations,
        actions=actions,
        supplies=supplies,
        equations=equations,
        caution=text_of(root.need("caution")),
        stand_ins=stand_ins,
        infant=_infant(root.get("infant")),
    )
    digest, wording = stamps(vocabulary)
    return replace(vocabulary, digest=digest, wording=wording)


def read_unit(place: Place | None) -> str | None:
    """Read the unit of an entry in the spelling used here."""
    if place is None:
        return None
    text = place.text("a unit, such as cmH2O")
    if not text:
        return None
    unit = known_unit(text)
    if unit is None:
        near = nearest_unit(text)
        place.say(
            "a unit, such as cmH2O, L/min or %",
            "unknown-unit",
            hint=f"did you mean '{near}'?" if near else "",
        )
    return unit


def _texts(place: Place | None) -> dict[str, str]:
    if place is None:
        return {}
    return {name: value.text() for name, value in place.entries("a map of names to labels")}


def _roles(place: Place | None) -> tuple[dict[str, str], dict[str, tuple[str, ...]]]:
    """Read the roles: the label of each, and who stands in for it."""
    labels = read_labels(place)
    stand_ins: dict[str, tuple[str, ...]] = {}
    for name, value in place.entries() if place is not None and place.is_map() else ():
        given = value.get("else") if value.is_map() else None
        if given is None:
            continue
        others = [item.name(labels, "a role of this vocabulary") for item in given.elements()]
        stand_ins[name] = tuple(other for other in others if other is not None)
    return labels, stand_ins


def read_labels(place: Place | None) -> dict[str, str]:
    """Read a map of names to labels, each bare or beside what else is said of it."""
    if place is None:
        return {}
    return {
        name: text_of(value.need("label")) if value.is_map() else value.text()
        for name, value in place.entries("a map of names to labels")
    }


def _infant(place: Place | None) -> PlausibleInfant | None:
    if place is None:
        return None
    gestation_at, weight_at = place.need("gestation"), place.need("weight")
    gestation = gestation_at.range("d") if gestation_at is not None else None
    weight = weight_at.range("g") if weight_at is not None else None
    if gestation is None or weight is None:
        return None
    return PlausibleInfant(gestation, weight)


def _entries(place: Place | None, read: Callable[[str, Place], Entry]) -> dict[str, Entry]:
    if place is None:
        return {}
    return {name: read(name, value) for name, value in place.entries("a map of names")}


def _flag(place: Place, key: str) -> bool:
    at = place.get(key)
    return at.truth() if at is not None else False


def _words(place: Place) -> tuple[str, ...]:
    given = place.get("words")
    if given is None:
        return ()
    words = tuple(item.text("a word") for item in given.elements("a list of words"))
    for number, word in enumerate(words):
        if word in words[:number]:
            given.elements()[number].say("each word once", "duplicate-word")
    return words


def _unit_or_words(place: Place) -> tuple[str | None, tuple[str, ...]]:
    unit = read_unit(place.get("unit"))
    words = _words(place)
    given = place.get("unit"), place.get("words")
    if place.is_map() and (given[0] is None) == (given[1] is None):
        found = "both" if given[0] is not None else "neither"
        place.say("either 'unit' or 'words'", "unit-or-words", found=found)
    return unit, words


def _not_below_zero(place: Place | None, value: float | None) -> float | None:
    if place is not None and value is not None and value < 0:
        place.say("0 or more", "negative")
        return None
    return value


def _tolerance(place: Place | None, unit: str | None) -> float:
    if place is None or unit is None:
        return 0.0
    return _not_below_zero(place, place.difference(unit)) or 0.0


def _setting(name: str, place: Place) -> Setting:
    unit, words = _unit_or_words(place)
    if words:
        for key in (*_OF_FIGURES, "plausible"):
            if place.get(key) is not None:
                place.key(key).say("no such key for a setting told in words", "needless-key")
    plausible, step = place.get("plausible"), place.get("step")
    size = step.difference(unit) if step is not None and unit else None
    if step is not None and size is not None and size <= 0:
        step.say("a step above 0", "zero-step")
    meaningful = place.get("meaningful")
    change = meaningful.difference(unit) if meaningful is not None and unit else None
    if meaningful is not None and change is not None and change <= 0:
        meaningful.say("a change above 0", "zero-step")
    label = text_of(place.need("label"))
    return Setting(
        name=name,
        label=label,
        noun=_noun(place, label),
        unit=unit,
        tolerance=_tolerance(place.get("tolerance"), unit),
        plausible=plausible.range(unit) if plausible is not None and unit else None,
        step=size,
        meaningful=change,
        words=words,
        usual=_numbers(place.get("usual"), unit),
        usual_steps=_differences(place.get("usual_steps"), unit),
        read_in=_units(place.get("read_in"), unit),
    )


_OF_FIGURES = ("tolerance", "step", "meaningful", "usual", "usual_steps", "read_in")


def _numbers(place: Place | None, unit: str | None) -> tuple[float, ...]:
    if place is None or unit is None:
        return ()
    numbers = [item.quantity(unit) for item in place.elements("a list of numbers with their units")]
    return tuple(number for number in numbers if number is not None)


def _differences(place: Place | None, unit: str | None) -> tuple[float, ...]:
    if place is None or unit is None:
        return ()
    steps = [item.difference(unit) for item in place.elements("a list of differences")]
    return tuple(step for step in steps if step is not None)


def _units(place: Place | None, unit: str | None) -> tuple[str, ...]:
    """Read the other units of a setting, which have to measure what its own does."""
    if place is None or unit is None:
        return ()
    units = []
    for item in place.elements("a list of units"):
        other = read_unit(item)
        if other is None:
            continue
        if not same_dimension(other, unit):
            item.say(f"a unit that goes with {unit}", "wrong-dimension")
        units.append(other)
    return tuple(units)


def _observation(name: str, place: Place, actions: Mapping[str, Action]) -> Observation:
    unit, words = _unit_or_words(place)
    decimals, revealed = place.get("decimals"), place.get("revealed_by")
    fresh, told = place.get("fresh"), place.get("told_within")
    for key in ("told_within", "bands"):
        if words and place.get(key) is not None:
            place.key(key).say("no such key for what is told in words", "needless-key")
    bands = place.get("bands")
    age = fresh.duration() if fresh is not None else None
    label = text_of(place.need("label"))
    return Observation(
        name=name,
        label=label,
        noun=_noun(place, label),
        unit=unit,
        words=words,
        decimals=decimals.whole() if decimals is not None else 0,
        revealed_by=tuple(
            _revealed_by(item, actions)
            for item in (revealed.elements("a list") if revealed is not None else ())
        ),
        fresh_ms=15_000 if age is None else age,
        told_within=_tolerance(told, unit) if told is not None else None,
        bands=_ranges(bands, unit),
    )


def _ranges(place: Place | None, unit: str | None) -> tuple[Range, ...]:
    if place is None or unit is None:
        return ()
    ranges = [item.range(unit) for item in place.elements("a list of ranges")]
    return tuple(found for found in ranges if found is not None)


def _revealed_by(place: Place, actions: Mapping[str, Action]) -> RevealedBy:
    given, delay, streams = place.need("action"), place.get("delay"), place.get("streams")
    action = given.name(actions, "an action of this vocabulary") if given is not None else None
    flows = streams.truth() if streams is not None else False
    if flows and streams is not None and action is not None and not actions[action].lasting:
        streams.say(
            f"a lasting action where a reading streams ('{action}' is not)", "streams-not-lasting"
        )
    return RevealedBy(
        action=action or "",
        delay_ms=(delay.duration() if delay is not None else 0) or 0,
        streams=flows,
    )


def _action(
    name: str,
    place: Place,
    phases: Mapping[str, str],
    roles: Mapping[str, str],
    settings: Mapping[str, Setting],
) -> Action:
    phase, role, key = place.need("phase"), place.get("role"), place.get("key")
    lasting, shortest, reads = place.get("lasting"), place.get("shortest"), place.get("reads")
    given, dose, ends = place.get("settings"), place.get("dose"), place.get("ends")
    avoid_from = place.get("avoid_from")
    lasts = lasting.truth() if lasting is not None else False
    if shortest is not None and not lasts:
        place.key("shortest").say("'shortest' only with 'lasting: true'", "needless-key", found="")
    if avoid_from is not None and not lasts:
        place.key("avoid_from").say(
            "'avoid_from' only with 'lasting: true'", "needless-key", found=""
        )
    touch = key.text("one character") if key is not None else None
    if key is not None and touch and len(touch) != 1:
        key.wrong_form("one character")
    named = [
        item.name(settings, "a setting of this vocabulary")
        for item in (given.elements("a list of settings") if given is not None else ())
    ]
    label = text_of(place.need("label"))
    forms = _forms(place, label)
    return Action(
        name=name,
        label=label,
        phase=(phase.name(phases, "a phase of this vocabulary") if phase is not None else "") or "",
        do=forms["do"],
        did=forms["did"],
        doing=forms["doing"],
        noun=forms["noun"],
        lasting=lasts,
        settings=tuple(setting for setting in named if setting is not None),
        dose=_dose(dose) if dose is not None else None,
        shortest_ms=(shortest.duration() if shortest is not None else 0) or 0,
        role=role.name(roles, "a role of this vocabulary") if role is not None else None,
        key=touch,
        reads=reads.text("an observation") if reads is not None else None,
        ends=ends.text("an action") if ends is not None else None,
        by_voice=_flag(place, "by_voice"),
        stays=_flag(place, "stays"),
        on_baby=_flag(place, "on_baby"),
        avoid_from_ms=avoid_from.duration() if avoid_from is not None else None,
        stops_care=_flag(place, "stops_care"),
    )


def _noun(place: Place, label: str) -> str:
    given = place.get("noun")
    return given.text() if given is not None else in_a_sentence(label)


def _forms(place: Place, label: str) -> dict[str, str]:
    """Return an action's forms within a sentence: all four as given, or made of its label."""
    given = {form: place.get(form) for form in _FORMS}
    missing = [form for form, at in given.items() if at is None]
    if len(missing) == len(_FORMS):
        verbs = {form: f"{form} “{label}”" for form in _FORMS}
        return {**verbs, "noun": in_a_sentence(label)}
    if missing:
        said = ", ".join(f"'{form}'" for form in _FORMS)
        found = ", ".join(f"'{form}'" for form, at in given.items() if at is not None)
        place.say(f"all of {said}, or none", "forms-incomplete", found=found)
    return {form: text_of(at) for form, at in given.items()}


def _dose(place: Place) -> Dose:
    unit = read_unit(place.need("unit"))
    strength, flush = place.get("strength"), place.get("flush")
    strength_unit = read_unit(strength.need("unit")) if strength is not None else None
    flush_unit = read_unit(flush.need("unit")) if flush is not None else None
    return Dose(
        unit=unit or "",
        tolerance=_tolerance(place.get("tolerance"), unit),
        routes=_texts(place.get("routes")),
        strength_unit=strength_unit,
        strength_tolerance=_tolerance(
            strength.get("tolerance") if strength is not None else None, strength_unit
        ),
        flush_unit=flush_unit,
        flush_tolerance=_tolerance(
            flush.get("tolerance") if flush is not None else None, flush_unit
        ),
        in_parts=_flag(place, "in_parts"),
        usual_flush=_numbers(flush.get("usual"), flush_unit) if flush is not None else (),
    )


def _supply(
    name: str, place: Place, actions: Mapping[str, Action], settings: Mapping[str, Setting]
) -> Supply:
    capacity, unit = place.need("capacity"), ""
    size = 0.0
    if capacity is not None and (text := capacity.text("an amount such as 460 L")):
        try:
            amount = parse_quantity(text)
            size, unit = amount.value, amount.unit
        except QuantityError as error:
            capacity.say("an amount such as 460 L", error.code, hint=error.hint)
        else:
            if size <= 0:
                capacity.say("an amount above 0", "zero-capacity")
    drains, refilled = place.get("drains"), place.get("refilled_by")
    return Supply(
        name=name,
        label=text_of(place.need("label")),
        unit=unit,
        capacity=size,
        drains=tuple(
            _drain(item, unit, actions, settings)
            for item in (drains.elements("a list") if drains is not None else ())
        ),
        refilled_by=(
            refilled.name(actions, "an action of this vocabulary") if refilled is not None else None
        ),
    )


def _drain(
    place: Place, unit: str, actions: Mapping[str, Action], settings: Mapping[str, Setting]
) -> Drain:
    doing, rate, flow = place.get("doing"), place.get("rate"), place.get("flow")
    part, blend, air = place.get("part"), place.get("blend"), place.get("air")
    if place.is_map() and (rate is None) == (flow is None):
        found = "neither" if rate is None else "both"
        place.say("either 'flow' (a setting) or 'rate'", "flow-or-rate", found=found)
    if rate is not None and doing is None:
        place.say("'doing' beside 'rate': the action that drains it", "missing-key", found="none")
    share = part.word(("all", "oxygen", "air")) if part is not None else "all"
    if share != "all" and (blend is None or air is None):
        place.say(
            f"'blend' and 'air' beside 'part: {share}'", "missing-key", found="one or none of them"
        )
    action = doing.name(actions, "an action of this vocabulary") if doing is not None else None
    if doing is not None and action is not None and not actions[action].lasting:
        doing.say("a lasting action", "not-lasting")
    carried = flow.name(settings, "a setting of this vocabulary") if flow is not None else None
    if flow is not None and carried is not None and unit:
        _check_flow(flow, settings[carried], unit)
    in_air = air.quantity("%") if air is not None else None
    return Drain(
        doing=action,
        rate=rate.quantity(f"{unit}/min") if rate is not None and unit else None,
        flow=carried,
        part="oxygen" if share == "oxygen" else "air" if share == "air" else "all",
        blend=blend.name(settings, "a setting of this vocabulary") if blend is not None else None,
        air=(in_air or 0.0) / 100,
    )


def _check_flow(place: Place, setting: Setting, unit: str) -> None:
    if (setting.unit or setting.words) and setting.unit != f"{unit}/min":
        place.say(
            f"a setting in {unit}/min",
            "wrong-dimension",
            found=f"'{setting.name}' in {setting.unit or 'words'}",
        )


def _equation(name: str, place: Place) -> Equation:
    from simengine.scenario.equations import FormulaError, names_in

    unit = read_unit(place.need("unit"))
    inputs_at, constants_at = place.get("inputs"), place.get("constants")
    inputs = {
        key: read_unit(value) or ""
        for key, value in (inputs_at.entries("a map") if inputs_at is not None else ())
    }
    constants: dict[str, str] = {}
    for key, value in constants_at.entries("a map") if constants_at is not None else ():
        constants[key] = value.text("a number with its unit")
        if constants[key]:
            try:
                parse_quantity(constants[key])
            except QuantityError as error:
                value.say(error.expected, error.code, hint=error.hint)
    formula, plain, rounded = place.need("formula"), place.get("plain"), place.get("round_to")
    text = formula.text("a sum such as weight * dose") if formula is not None else ""
    if formula is not None and text:
        try:
            unknown = sorted(names_in(text) - inputs.keys() - constants.keys())
        except FormulaError as error:
            formula.say(error.expected, "formula", found=error.found)
        else:
            for word in unknown:
                formula.say("names from 'inputs' or 'constants'", "unknown-name", found=f"'{word}'")
    step = rounded.difference(unit) if rounded is not None and unit else None
    if rounded is not None and step is not None and step <= 0:
        rounded.say("a step above 0", "zero-step")
    return Equation(
        name=name,
        label=text_of(place.need("label")),
        formula=text,
        unit=unit or "",
        inputs=inputs,
        constants=constants,
        source=text_of(place.need("source")),
        round_to=step if step is not None and step < inf else None,
        plain=plain.truth() if plain is not None else False,
    )


def _check_reads(root: Place, observations: Mapping[str, Observation]) -> None:
    actions = root.get("actions")
    for _, place in actions.entries() if actions is not None else ():
        reads = place.get("reads")
        if reads is not None:
            reads.name(observations, "an observation of this vocabulary")


def _check_ends(root: Place, actions: Mapping[str, Action]) -> None:
    at = root.get("actions")
    for _, place in at.entries() if at is not None else ():
        ends = place.get("ends")
        name = ends.name(actions, "an action of this vocabulary") if ends is not None else None
        if ends is not None and name is not None and not actions[name].lasting:
            ends.say("a lasting action", "not-lasting")


def _check_keys(root: Place, actions: Mapping[str, Action]) -> None:
    at = root.get("actions")
    taken: dict[str, str] = {}
    for name, action in actions.items():
        if action.key is None or at is None:
            continue
        touch = action.key.upper()
        place, first = at.get(name), taken.setdefault(touch, name)
        key = place.get("key") if place is not None else None
        if first != name and key is not None:
            key.say("a key for each action", "key-taken", hint=f"'{first}' has it")
