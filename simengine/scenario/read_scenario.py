"""A scenario file's tree → ``Scenario``, under one protocol and for one infant.

Problems go to the book of the root place; a scenario whose book has errors is not used.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple, cast

from simengine.scenario.digest import stamps
from simengine.scenario.item_reader import Names
from simengine.scenario.key import IMPORTANCE_WEIGHTS, Importance, Item, Scoring, Standard
from simengine.scenario.model import (
    Infant,
    PlannedCue,
    Scenario,
)
from simengine.scenario.place import Place, text_of
from simengine.scenario.positions import Mapping as Map
from simengine.scenario.protocol import Protocol
from simengine.scenario.read_conditions import (
    Context,
    scope_of,
)
from simengine.scenario.read_fields import PLAIN, Scope, read_fields, read_labels, read_texts
from simengine.scenario.read_key import OF_THE_COT, PROTOCOL_SOURCE, read_key
from simengine.scenario.read_never import (
    Unread,
    read_doses,
    read_never,
    read_strengths,
    read_waives,
)
from simengine.scenario.read_physiology import (
    NO_PHYSIOLOGY,
    circle_in,
    names_made,
    read_physiology,
    read_turned_on,
    read_without,
    with_complications,
    with_rules,
)
from simengine.scenario.read_protocol import source_for
from simengine.scenario.read_start import faults_of, planted_at, read_faults, read_start
from simengine.scenario.read_state import not_zero, read_state
from simengine.scenario.vocabulary import Vocabulary

_PLAIN = Scope({}, PLAIN)
NO_PROTOCOL = Protocol("", "", "", "", None, None, None, {}, "")


class Read(NamedTuple):
    """A scenario with the places of its key items, for the checks of the whole."""

    scenario: Scenario
    key_places: tuple[tuple[Item, Place], ...]


def read_scenario(
    root: Place,
    vocabulary: Vocabulary,
    source: Unread | None,
    infant: Infant | None,
    is_protocol: Callable[[str], bool],
    physiology_at: Place | None = None,
    cot: Place | None = None,
) -> Read:
    """Read a scenario.

    ``source``: the protocol, ``None`` if it could not be read. ``is_protocol`` says whether an id
    may stand in ``references`` without a text. ``physiology_at``: the root of the file that the
    vocabulary names. ``cot``: its catalogue of the cot, as written.
    """
    protocol = source.protocol if source is not None else None
    filed = _infant(root.need("infant"))
    baby = infant or filed
    start_at = root.need("start")
    planted = planted_at(start_at, cot, vocabulary)
    context = Context(vocabulary, protocol, baby, frozenset(planted))
    protocol_at = root.get("protocol")
    own = protocol is not None and text_of(protocol_at) == protocol.id
    waives = read_waives(root.get("waives"), source, own)
    if source is not None and not _names_are_of(source, vocabulary, protocol_at):
        source = None
    doses = read_doses(source, context) if source is not None else {}
    context = replace(context, doses=doses)
    physiology = NO_PHYSIOLOGY
    if physiology_at is not None:
        of_cot = replace(context, faults=faults_of(vocabulary), planted=frozenset(planted))
        physiology, knowing = read_physiology(physiology_at, of_cot)
        context = replace(context, care=knowing.care)
    without = read_without(root.get("without"), physiology)
    turned_on = read_turned_on(root.get("complications"), physiology)
    states_at = root.need("states")
    in_file = [name for name, _ in (states_at.entries("a map of states") if states_at else ())]
    state_names = [*in_file, *names_made(turned_on, physiology)]
    faults = read_faults(planted, scope_of(context))
    scope = scope_of(context, {"state": (state_names, "a state of this scenario")})
    start = read_start(start_at, faults, scope)
    references = _references(root.get("references"), is_protocol)
    given = read_fields(Scenario, root, scope)
    not_zero(root.get("planned_time"), given["planned_ms"])
    started = start_at is not None and start_at.is_map()
    roles, covers = _roles(root.get("roles"), vocabulary)
    names = Names(
        states=frozenset(state_names),
        objectives=given["objectives"] if _readable(root.get("objectives")) else None,
        roles=roles if _readable(root.get("roles")) else None,
        references=references if _readable(root.get("references")) else None,
        faults=faults,
        clock=start.clock,
        started=started,
    )
    states = {
        name: read_state(name, value, scope)
        for name, value in (states_at.entries() if states_at is not None else ())
    }
    states = with_complications(states, turned_on, physiology, in_file)
    rules = physiology.rules.values()
    as_filed = with_rules(states, rules, without, filed)
    states = with_rules(states, rules, without, baby) if baby != filed else as_filed
    circle = circle_in(states.values())
    if circle is not None and states_at is not None:
        states_at.say("shifts that don't wait for what they shift", "circle", found=f"'{circle}'")
    key_at = root.need("key")
    key = read_key(key_at, context, names) if key_at is not None else ()
    scoring_at = root.get("scoring")
    returns = root.get("returns_cot")
    scenario = Scenario(
        **given,
        vocabulary=vocabulary,
        protocol=protocol or NO_PROTOCOL,
        infant=baby,
        roles=roles,
        start=start,
        states=states,
        key=tuple(item for item, _ in key),
        scoring=_scoring(scoring_at, scope),
        cues=_cues(root.get("cues"), scope),
        references=references | _cot_source(key, vocabulary) | _protocol_sources(key, context),
        key_times=_key_times(root.get("key_times"), key, root.book.has_errors()),
        returns_cot=returns.truth() if returns is not None else bool(faults),
        never=read_never(source, context, waives) if source is not None else (),
        waives=waives,
        without=without,
        complications={
            name: tuple(text_of(place) for place in places) for name, places in turned_on.items()
        },
        doses=doses,
        strengths=read_strengths(source, context) if source is not None else {},
        covers=covers,
    )
    read = Read(scenario, key)
    digest, wording = _stamps(
        read, replace(scenario, references=references, infant=filed, states=as_filed), key_at
    )
    return Read(replace(scenario, digest=digest, wording=wording), key)


def _stamps(read: Read, as_filed: Scenario, key_at: Place | None) -> tuple[str, str]:
    """Return the digests that a scenario has under any protocol and for any baby.

    ``as_filed``: with the references and the baby of its file. Items that not every protocol
    teaches count as they are written.
    """
    taught = {
        str(place.path[-1]): place.node
        for place in (key_at.elements() if key_at is not None else ())
        if place.get("taught") is not None and isinstance(place.node, Map)
    }
    always = tuple(
        # A title that nobody has written may hold a figure of the protocol.
        item if place.get("title") is not None else replace(item, title="")
        for item, place in read.key_places
        if place.get("taught") is None
    )
    vocabulary = as_filed.vocabulary
    return stamps(
        replace(as_filed, key=always),
        means=vocabulary.digest,
        words=vocabulary.wording,
        unread=taught,
    )


def _names_are_of(source: Unread, vocabulary: Vocabulary, place: Place | None) -> bool:
    """Whether a protocol uses the names of this vocabulary, where it uses any."""
    waits = source.never or source.doses or source.strengths
    if not waits or source.protocol.vocabulary == vocabulary.id:
        return True
    if place is not None:
        place.say(
            f"a protocol with the names of vocabulary '{vocabulary.id}'",
            "other-vocabulary",
            found=f"one with those of '{source.protocol.vocabulary}'",
            level="warning",
            hint="its 'never', 'doses' and 'strengths' don't apply here",
        )
    return False


def read_infant(gestation: str, weight: str) -> Infant:
    """Make an infant from texts such as ``30 wk`` and ``1.2 kg``. Raises ``QuantityError``."""
    from simengine.quantities import parse_in

    return Infant(parse_in(gestation, "d"), parse_in(weight, "g"))


def _readable(place: Place | None) -> bool:
    return place is None or place.is_map() or place.is_list()


def _infant(place: Place | None) -> Infant:
    if place is None:
        return Infant(0.0, 0.0)
    infant = Infant(**read_fields(Infant, place, _PLAIN))
    for at, value in (
        (place.get("gestation"), infant.gestation_days),
        (place.get("weight"), infant.weight_g),
    ):
        if at is not None and at.is_sound() and value <= 0:
            at.say("more than 0", "negative")
    return infant


def _roles(
    place: Place | None, vocabulary: Vocabulary
) -> tuple[dict[str, str], dict[str, tuple[str, ...]]]:
    """Read the roles: the label of each, and whose work it is said to do."""
    if place is None:
        return dict(vocabulary.roles), {}
    labels = read_labels(place)
    covers: dict[str, tuple[str, ...]] = {}
    taken: dict[str, str] = {}
    for name, value in place.entries() if place.is_map() else ():
        given = value.get("covers") if value.is_map() else None
        covered = []
        for item in given.elements() if given is not None else ():
            role = item.name(vocabulary.roles, f"a role of vocabulary '{vocabulary.id}'")
            if role is None:
                continue
            if role in taken:
                item.say(
                    "a role that no other covers", "covered-twice", hint=f"'{taken[role]}' does"
                )
            taken.setdefault(role, name)
            covered.append(role)
        if covered:
            covers[name] = tuple(covered)
    return labels, covers


def _references(place: Place | None, is_protocol: Callable[[str], bool]) -> dict[str, str]:
    """Read ``references``: a map of texts, or a list of ids that speak for themselves."""
    if place is None:
        return {}
    if place.is_map():
        return read_texts(place)
    references: dict[str, str] = {}
    for item in place.elements("a map of names to texts, or a list of protocols"):
        name = item.text("the id of a protocol")
        if name and not is_protocol(name):
            item.say(
                "the id of a protocol, or a map 'name: text'",
                "reference-without-text",
                level="warning",
            )
        if name:
            references[name] = name
    return references


def _cot_source(key: tuple[tuple[Item, Place], ...], vocabulary: Vocabulary) -> dict[str, str]:
    """Return the source of the catalogue of the cot, where an item that gives none has it."""
    cot = vocabulary.equipment
    if cot is None or all(item.reference != OF_THE_COT for item, _ in key):
        return {}
    return {OF_THE_COT: cot.source}


def _protocol_sources(key: tuple[tuple[Item, Place], ...], context: Context) -> dict[str, str]:
    """Return the sources of the protocol's values that items refer to."""
    if context.protocol is None or context.infant is None:
        return {}
    return {
        item.reference: source_for(
            context.protocol.values[item.reference.removeprefix(PROTOCOL_SOURCE)], context.infant
        )
        for item, _ in key
        if item.reference is not None and item.reference.startswith(PROTOCOL_SOURCE)
    }


def _cues(place: Place | None, scope: Scope) -> tuple[PlannedCue, ...]:
    items = place.elements("a list of cues") if place is not None else ()
    return tuple(PlannedCue(**read_fields(PlannedCue, item, scope)) for item in items)


def _key_times(
    place: Place | None, key: tuple[tuple[Item, Place], ...], errors: bool
) -> tuple[str, ...]:
    """Read ``key_times``. While items are left out for their errors, ids can't be checked."""
    ids = [item.id for item, _ in key]
    item_ids: list[str] = []
    for item in place.elements("a list of key item ids") if place is not None else ():
        if errors:
            continue
        name = item.name(ids, "the id of a key item")
        if name is not None:
            item_ids.append(name)
    return tuple(item_ids)


def _scoring(place: Place | None, scope: Scope) -> Scoring:
    weights = dict(IMPORTANCE_WEIGHTS)
    if place is None:
        return Scoring(weights)
    given = read_fields(Scoring, place, scope)
    weights_at, standard_at = place.get("weights"), place.get("standard")
    for name, value in weights_at.entries("a map of weights") if weights_at is not None else ():
        assert weights_at is not None
        weight = value.number()
        if weight < 0:
            value.say("a weight of 0 or more", "negative")
        if weights_at.key(name).name_of_key(weights, "essential, important or helpful"):
            weights[cast(Importance, name)] = weight
    if given.get("pass_mark") is not None and standard_at is None:
        place.key("pass").say(
            "'standard' (method, panel, date) beside 'pass'",
            "pass-without-standard",
            found="none",
            level="warning",
            hint="without it no outcome is proposed",
        )
    standard = Standard(**read_fields(Standard, standard_at, scope)) if standard_at else None
    return Scoring(weights=weights, standard=standard, **given)
