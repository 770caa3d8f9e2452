"""A vocabulary file's tree → ``Vocabulary``.

Fields are read by what is stated beside them (``read_fields``); each function adds what one kind
of entry asks besides. Names are checked once all entries are there, since actions name observations
and observations name actions.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache, partial
from typing import TYPE_CHECKING

from simengine.quantities import QuantityError, Range, parse_quantity
from simengine.quantities.formatting import in_a_sentence, listed
from simengine.quantities.units import same_dimension
from simengine.scenario.digest import stamps
from simengine.scenario.equipment_file import read_equipment
from simengine.scenario.place import Book, Place, text_of
from simengine.scenario.read_fields import PLAIN, Scope, read_fields, read_unit
from simengine.scenario.vocabulary import (
    USUAL,
    Action,
    AddsUp,
    Dose,
    Drain,
    Equation,
    Gauge,
    Observation,
    PlausibleInfant,
    RevealedBy,
    Setting,
    Supply,
    Vocabulary,
)
from simengine.scenario.wanted import OneOf

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import TypeVar

    from simengine.scenario.positions import Node
    from simengine.scenario.read_fields import Names

    Entry = TypeVar("Entry")

_FORMS = ("do", "did", "doing", "noun")
_OF_FIGURES = ("tolerance", "step", "meaningful", "usual", "usual_steps", "read_in", "plausible")


def read_vocabulary(root: Place, cot: Place | None = None) -> Vocabulary:
    """Read a vocabulary; ``cot``: the catalogue of the cot that it names, whose names join its own.

    Problems go to the books of both; with errors the result is only for names.
    """
    names: dict[str, Names] = {}
    given = read_fields(Vocabulary, root, Scope(names, PLAIN))
    names["phase"] = given["phases"], "a phase of this vocabulary"
    names["role"] = given["roles"], "a role of this vocabulary"
    settings = _entries(root.need("settings"), _setting)
    settings |= _joining(cot, "settings", settings, _setting)
    names["setting"] = settings, "a setting of this vocabulary"
    actions = _entries(root.need("actions"), partial(_action, names))
    actions |= _joining(cot, "actions", actions, partial(_action, names))
    names["action"] = actions, "an action of this vocabulary"
    observations = _entries(root.need("observations"), partial(_observation, names, actions))
    observations = _with_scores(root.need("observations"), observations)
    supplies = _entries(root.get("supplies"), partial(_supply, names, actions, settings))
    equations = _entries(root.get("equations"), _equation)
    for place in (root, *((cot,) if cot is not None else ())):
        _check_reads(place, observations)
        _check_ends(place, actions)
        _check_keys(place, actions)
    vocabulary = Vocabulary(
        **given,
        settings=settings,
        observations=observations,
        actions=actions,
        supplies=supplies,
        equations=equations,
        stand_ins=_stand_ins(root.get("roles"), names),
        infant=_infant(root.get("infant")),
    )
    if cot is not None:
        vocabulary = replace(vocabulary, equipment=read_equipment(cot, vocabulary))
    digest, wording = stamps(vocabulary)
    return replace(vocabulary, digest=digest, wording=wording)


@lru_cache(maxsize=8)
def sound_vocabulary(root: Node, cot: Node | None, stamped: bool) -> Vocabulary | None:
    """Return the vocabulary of a file in which its schema found nothing wrong, read once.

    A folder of scenarios names the same one again and again. ``stamped``: whether digests are made,
    which makes it another. ``None`` where something is wrong, which only who names the file can
    tell. A file that was read again has other nodes if it has changed.
    """
    books = Book(""), Book("")
    of_cot = Place(books[1], cot) if cot is not None else None
    vocabulary = read_vocabulary(Place(books[0], root), of_cot)
    return None if any(book.problems for book in books) else vocabulary


def _infant(place: Place | None) -> PlausibleInfant | None:
    return (
        None
        if place is None
        else PlausibleInfant(**read_fields(PlausibleInfant, place, Scope({}, PLAIN)))
    )


def _entries(place: Place | None, read: Callable[[str, Place], Entry]) -> dict[str, Entry]:
    if place is None:
        return {}
    return {name: read(name, value) for name, value in place.entries("a map of names")}


def _joining(
    cot: Place | None, key: str, taken: Mapping[str, Entry], read: Callable[[str, Place], Entry]
) -> dict[str, Entry]:
    """Read what a catalogue adds: a name that the vocabulary has already is its own."""
    at = cot.get(key) if cot is not None else None
    entries = _entries(at, read)
    for name in entries:
        if at is not None and name in taken:
            at.key(name).say("a name that the vocabulary does not have", "name-taken")
    return entries


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
    """Read what tells a value's kind: a unit, or the words that it can have."""
    unit = read_unit(place.get("unit"))
    words = _words(place)
    given = place.get("unit"), place.get("words")
    if place.is_map() and (given[0] is None) == (given[1] is None):
        which = "both" if given[0] is not None else "neither"
        place.say("either 'unit' or 'words'", "unit-or-words", found=which)
    return unit, words


def _not_for_words(place: Place, keys: tuple[str, ...], what: str) -> None:
    for key in keys:
        if place.get(key) is not None:
            place.key(key).say(f"no such key for {what} told in words", "needless-key")


def _above_zero(place: Place, key: str, value: float | None, what: str) -> None:
    at = place.get(key)
    if at is not None and value is not None and value <= 0:
        at.say(f"a {what} above 0", "zero-step")


def _not_below_zero(place: Place, key: str, value: float | None) -> None:
    at = place.get(key)
    if at is not None and value is not None and value < 0:
        at.say("0 or more", "negative")


def _setting(name: str, place: Place) -> Setting:
    unit, words = _unit_or_words(place)
    if words:
        _not_for_words(place, _OF_FIGURES, "a setting")
    given = read_fields(Setting, place, Scope({}, PLAIN, unit))
    setting = Setting(
        name=name,
        unit=unit,
        words=words,
        read_in=_units(place.get("read_in"), unit),
        **{**given, "noun": _noun(place, given["label"])},
    )
    _not_below_zero(place, "tolerance", setting.tolerance)
    _above_zero(place, "step", setting.step, "step")
    _above_zero(place, "meaningful", setting.meaningful, "change")
    return setting


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


def _observation(
    names: Mapping[str, Names], actions: Mapping[str, Action], name: str, place: Place
) -> Observation:
    unit, words = _unit_or_words(place)
    if words:
        _not_for_words(place, ("told_within", "bands"), "what is")
    given = read_fields(Observation, place, Scope(names, PLAIN, unit))
    revealed = place.get("revealed_by")
    noun = _noun(place, given["label"])
    observation = Observation(
        name=name,
        was=_was(place, words, noun),
        unit=unit,
        words=words,
        revealed_by=tuple(
            _revealed_by(item, names, actions)
            for item in (revealed.elements("a list") if revealed is not None else ())
        ),
        **{**given, "noun": noun},
    )
    _not_below_zero(place, "told_within", observation.told_within)
    return observation


def _with_scores(
    place: Place | None, observations: dict[str, Observation]
) -> dict[str, Observation]:
    """Read what scores add up from, once every sign is known."""
    scored = dict(observations)
    for name, at in place.entries() if place is not None else ():
        score = at.get("adds_up") if at.is_map() else None
        if score is None:
            continue
        signs: dict[str, dict[str, Range | OneOf]] = {}
        signs_at = score.need("signs")
        for sign, points in signs_at.entries("a map of observations") if signs_at else ():
            assert signs_at is not None
            known = signs_at.key(sign).name_of_key(observations, "an observation")
            if known is not None:
                signs[known] = _points(points, observations[known])
        given = read_fields(AddsUp, score, Scope({}, PLAIN))
        scored[name] = replace(scored[name], adds_up=AddsUp(signs=signs, **given))
    return scored


def _points(place: Place, sign: Observation) -> dict[str, Range | OneOf]:
    points: dict[str, Range | OneOf] = {}
    for text, value in place.entries("a map of points"):
        if not text.isdigit():
            place.key(text).say("whole points", "form", found=f"'{text}'")
            continue
        if sign.unit is not None:
            wanted = value.range(sign.unit)
            if wanted is not None:
                points[text] = wanted
        else:
            words = [
                word
                for item in value.one_or_more("words")
                if (word := item.name(sign.words, f"a word of '{sign.name}'")) is not None
            ]
            points[text] = OneOf(tuple(words))
    return points


def _revealed_by(
    place: Place, names: Mapping[str, Names], actions: Mapping[str, Action]
) -> RevealedBy:
    by = RevealedBy(**read_fields(RevealedBy, place, Scope(names, PLAIN)))
    streams = place.get("streams")
    if by.streams and streams is not None and by.action and not actions[by.action].lasting:
        streams.say(
            f"a lasting action where a reading streams ('{by.action}' is not)",
            "streams-not-lasting",
        )
    return by


def _stand_ins(place: Place | None, names: Mapping[str, Names]) -> dict[str, tuple[str, ...]]:
    """Read who does the work of a role that a scenario has nobody for."""
    stand_ins: dict[str, tuple[str, ...]] = {}
    allowed, what = names["role"]
    for name, value in place.entries() if place is not None and place.is_map() else ():
        given = value.get("else") if value.is_map() else None
        if given is None:
            continue
        others = [item.name(allowed or (), what) for item in given.elements()]
        stand_ins[name] = tuple(other for other in others if other is not None)
    return stand_ins


def _action(names: Mapping[str, Names], name: str, place: Place) -> Action:
    given = read_fields(Action, place, Scope(names, PLAIN))
    key, dose = place.get("key"), place.get("dose")
    touch = key.text("one character") if key is not None else None
    if key is not None and touch and len(touch) != 1:
        key.wrong_form("one character")
    forms = _forms(place, given["label"])
    action = Action(
        name=name, dose=_dose(dose) if dose is not None else None, key=touch, **{**given, **forms}
    )
    for only in ("shortest", "avoid_from"):
        if place.get(only) is not None and not action.lasting:
            place.key(only).say(f"'{only}' only with 'lasting: true'", "needless-key", found="")
    return action


def _noun(place: Place, label: str) -> str:
    given = place.get("noun")
    return given.text() if given is not None else in_a_sentence(label)


def _was(place: Place, words: tuple[str, ...], noun: str) -> dict[str, str]:
    """Return for each word what was so then: as given, or made of the noun and the word."""
    given, past = place.get("was"), {word: f"{noun} was {word}" for word in words}
    for word, value in given.entries("a map of words") if given is not None else ():
        if word not in past:
            value.say(f"one of {listed(words, 'or')}", "unknown-word", found=word)
        past[word] = value.text()
    return past


def _forms(place: Place, label: str) -> dict[str, str]:
    """Return an action's forms within a sentence: all four as given, or made of its label."""
    given = {form: place.get(form) for form in _FORMS}
    missing = [form for form, at in given.items() if at is None]
    if len(missing) == len(_FORMS):
        verbs = {form: f"{form} “{label}”" for form in _FORMS}
        return {**verbs, "noun": in_a_sentence(label)}
    if missing:
        all_forms = ", ".join(f"'{form}'" for form in _FORMS)
        present = ", ".join(f"'{form}'" for form, at in given.items() if at is not None)
        place.say(f"all of {all_forms}, or none", "forms-incomplete", found=present)
    return {form: text_of(at) for form, at in given.items()}


def _dose(place: Place) -> Dose:
    unit = read_unit(place.need("unit"))
    given = read_fields(Dose, place, Scope({}, PLAIN, unit))
    _not_below_zero(place, "tolerance", given.get("tolerance"))
    for part in ("strength", "flush", "over"):
        at = place.get(part)
        if at is None:
            continue
        own = read_unit(at.need("unit"))
        tolerance_at = at.get("tolerance")
        tolerance = tolerance_at.difference(own) if tolerance_at is not None and own else None
        _not_below_zero(at, "tolerance", tolerance)
        given |= {f"{part}_unit": own}
        if tolerance is not None:
            given[f"{part}_tolerance"] = tolerance
        usual = at.get("usual") if part != "strength" else None
        if usual is not None and own is not None:
            sizes = [item.quantity(own) for item in usual.elements(USUAL.title)]
            given[f"usual_{part}"] = tuple(size for size in sizes if size is not None)
    return Dose(unit=unit or "", **given)


def _supply(
    names: Mapping[str, Names],
    actions: Mapping[str, Action],
    settings: Mapping[str, Setting],
    name: str,
    place: Place,
) -> Supply:
    given = read_fields(Supply, place, Scope(names, PLAIN))
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
    drains, gauge = place.get("drains"), place.get("gauge")
    return Supply(
        name=name,
        unit=unit,
        capacity=size,
        drains=tuple(
            _drain(item, unit, names, actions, settings)
            for item in (drains.elements("a list") if drains is not None else ())
        ),
        gauge=_gauge(gauge, names, settings) if gauge is not None else None,
        **given,
    )


def _gauge(
    place: Place, names: Mapping[str, Names], settings: Mapping[str, Setting]
) -> Gauge | None:
    given = read_fields(Gauge, place, Scope(names, PLAIN))
    full = place.need("full")
    if full is None or not (text := full.text("what it shows of a full one, such as 230 bar")):
        return None
    try:
        shown = parse_quantity(text)
    except QuantityError as error:
        full.say("what it shows of a full one, such as 230 bar", error.code, hint=error.hint)
        return None
    if shown.value <= 0:
        full.say("a figure above 0", "negative")
        return None
    within_at = place.get("told_within")
    within = within_at.difference(shown.unit) if within_at is not None else None
    _not_below_zero(place, "told_within", within)
    gauge = Gauge(full=shown.value, unit=shown.unit, told_within=within, **given)
    setting_at = place.get("setting")
    unit = settings[gauge.setting].unit if gauge.setting else shown.unit
    if setting_at is not None and (unit is None or not same_dimension(unit, shown.unit)):
        setting_at.say(f"a setting in a unit that goes with {shown.unit}", "wrong-dimension")
    return gauge


def _drain(
    place: Place,
    unit: str,
    names: Mapping[str, Names],
    actions: Mapping[str, Action],
    settings: Mapping[str, Setting],
) -> Drain:
    rate, flow, doing, air = (place.get(key) for key in ("rate", "flow", "doing", "air"))
    if place.is_map() and (rate is None) == (flow is None):
        given = "neither" if rate is None else "both"
        place.say("either 'flow' (a setting) or 'rate'", "flow-or-rate", found=given)
    if rate is not None and doing is None:
        place.say("'doing' beside 'rate': the action that drains it", "missing-key", found="none")
    drain = Drain(**read_fields(Drain, place, Scope(names, PLAIN, f"{unit}/min" if unit else None)))
    if drain.part != "all" and (place.get("blend") is None or air is None):
        place.say(
            f"'blend' and 'air' beside 'part: {drain.part}'",
            "missing-key",
            found="one or none of them",
        )
    if doing is not None and drain.doing is not None and not actions[drain.doing].lasting:
        doing.say("a lasting action", "not-lasting")
    if flow is not None and drain.flow is not None and unit:
        _check_flow(flow, settings[drain.flow], unit)
    return drain


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
    given = read_fields(Equation, place, Scope({}, PLAIN, unit))
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
    formula = place.get("formula")
    if formula is not None and given["formula"]:
        try:
            unknown = sorted(names_in(given["formula"]) - inputs.keys() - constants.keys())
        except FormulaError as error:
            formula.say(error.expected, "formula", found=error.found)
        else:
            for word in unknown:
                formula.say("names from 'inputs' or 'constants'", "unknown-name", found=f"'{word}'")
    equation = Equation(name=name, unit=unit or "", inputs=inputs, constants=constants, **given)
    _above_zero(place, "round_to", equation.round_to, "step")
    return equation


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
