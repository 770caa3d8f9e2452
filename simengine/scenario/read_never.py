"""What a protocol calls unsafe in any baby, its doses and strengths, read for one scenario.

Rules of this file:

- A protocol is read before anybody knows for which vocabulary and baby. What uses the names of a
  vocabulary waits at its place in the file (``Unread``) until a scenario, or a check of the file,
  asks for it.
- ``extends`` brings what stands in the protocol below; a name given again replaces the whole of it.
- What has no figure for this baby is left out, with a warning: a table may begin at a gestation.
- A name that a scenario waives has to be one of the protocol that it names itself; under another
  protocol it may be missing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from simengine.nearest_name import name_hint
from simengine.quantities import QuantityError, Range, parse_range
from simengine.scenario.digest import stamps
from simengine.scenario.item_reader import ItemReader
from simengine.scenario.key import Avoid
from simengine.scenario.place import Place, text_of
from simengine.scenario.positions import Mapping as Map
from simengine.scenario.positions import as_written
from simengine.scenario.protocol import NEVER, Protocol
from simengine.scenario.read_conditions import Context, scope_of
from simengine.scenario.read_fields import read_fields
from simengine.scenario.read_protocol import NoValueError, value_for

Waiting = Mapping[str, tuple[Place, Place]]


class Unread(NamedTuple):
    """A protocol, and those of its parts that use the names of a vocabulary.

    ``never``, ``doses``, ``strengths``: for each name the places of the name and of what stands
    under it.
    """

    protocol: Protocol
    never: Waiting
    doses: Waiting
    strengths: Waiting


def unread(root: Place, protocol: Protocol, base: Unread | None) -> Unread:
    """Return a protocol with what waits in its file and in the one that it extends (``base``)."""
    never, doses = _waiting(root.get("never")), _waiting(root.get("doses"))
    strengths = _waiting(root.get("strengths"))
    if (never or doses or strengths) and protocol.vocabulary is None:
        root.need("vocabulary")
    if base is not None:
        never, doses = {**base.never, **never}, {**base.doses, **doses}
        strengths = {**base.strengths, **strengths}
    digest, wording = stamps(
        protocol,
        means={name: as_written(place.node) for name, (_, place) in doses.items()},
        words={name: as_written(place.node) for name, (_, place) in strengths.items()} or None,
        unread={
            name: place.node for name, (_, place) in never.items() if isinstance(place.node, Map)
        },
    )
    return Unread(replace(protocol, digest=digest, wording=wording), never, doses, strengths)


def read_never(source: Unread, context: Context, waived: Mapping[str, str]) -> tuple[Avoid, ...]:
    """Read what is unsafe in any baby, what is ``waived`` left out."""
    context = replace(context, faults=frozenset())
    items = (
        _item(name, place, context)
        for name, (_, place) in source.never.items()
        if name not in waived
    )
    return tuple(item for item in items if item is not None)


def read_waives(place: Place | None, source: Unread | None, own: bool) -> dict[str, str]:
    """Read ``waives``: name → reason. ``own``: the protocol is the one that the scenario names."""
    if place is None:
        return {}
    reasons: dict[str, str] = {}
    for name, reason in place.entries("a map of names to reasons"):
        reasons[name] = reason.text("a reason")
        if source is not None and name not in source.never:
            place.key(name).say(
                f"what protocol '{source.protocol.id}' calls unsafe in any baby",
                "unknown-name",
                found=f"'{name}'",
                hint=name_hint(name, source.never),
                level="error" if own else "warning",
            )
    return reasons


def read_doses(source: Unread, context: Context) -> dict[str, dict[str, Range]]:
    """Read the range of each action and route, in the unit of the action's dose."""
    ranges: dict[str, dict[str, Range]] = {}
    for key, place in source.doses.values():
        action = key.name_of_key(context.vocabulary.actions, context.an_action)
        dose = context.vocabulary.actions[action].dose if action is not None else None
        if action is not None and dose is None:
            key.say("an action that carries a dose", "no-dose", found=f"'{action}'")
        if action is None or dose is None:
            continue
        ranges[action] = {}
        for name, value in place.entries("a map of routes to values"):
            route = place.key(name).name_of_key(dose.routes, f"a route of '{action}'")
            wanted = _dose_range(value, source.protocol, dose.unit, dose.tolerance, context)
            if route is not None and wanted is not None:
                ranges[action][route] = wanted
    return ranges


def read_strengths(source: Unread, context: Context) -> dict[str, Range]:
    """Read the strength in which each drug is given, in the unit of its action's dose."""
    ranges: dict[str, Range] = {}
    for key, place in source.strengths.values():
        action = key.name_of_key(context.vocabulary.actions, context.an_action)
        dose = context.vocabulary.actions[action].dose if action is not None else None
        if action is not None and (dose is None or dose.strength_unit is None):
            key.say("an action whose dose has a strength", "no-dose", found=f"'{action}'")
        if action is None or dose is None or dose.strength_unit is None:
            continue
        unit, tolerance = dose.strength_unit, dose.strength_tolerance
        wanted = _dose_range(place, source.protocol, unit, tolerance, context)
        if wanted is not None:
            ranges[action] = wanted
    return ranges


def _waiting(place: Place | None) -> dict[str, tuple[Place, Place]]:
    if place is None:
        return {}
    return {name: (place.key(name), value) for name, value in place.entries("a map of names")}


def _dose_range(
    place: Place, protocol: Protocol, unit: str, tolerance: float, context: Context
) -> Range | None:
    name = place.name(protocol.values, f"a value of protocol '{protocol.id}'")
    if name is None:
        return None
    try:
        wanted = value_for(protocol, name, context.infant, unit, tolerance)
    except NoValueError as error:
        if error.code != "no-row":
            place.say(error.expected, error.code, hint=error.hint)
        return None
    if not isinstance(wanted, Range):
        place.say("a protocol value that is not by the clock", "by-clock")
        return None
    return wanted


def _item(name: str, place: Place, context: Context) -> Avoid | None:
    avoid = place.need("avoid")
    if avoid is None:
        return None
    book = place.book
    before = len(book.problems)
    fields = {**read_fields(NEVER, place, scope_of(context)), "id": f"never:{name}"}
    item = replace(
        Avoid.read(ItemReader(place, avoid, fields, context)),
        stops_pass=_stops_pass(place.get("stops_pass"), context),
        never=True,
    )
    noted = book.problems[before:]
    if noted and all(problem.code == "no-row" for problem in noted):
        book.problems[before:] = [replace(problem, level="warning") for problem in noted]
        return None
    return None if any(problem.level == "error" for problem in noted) else item


def _stops_pass(place: Place | None, context: Context) -> bool:
    if place is None:
        return True
    if not place.is_map():
        return place.truth()
    gestation_at = place.need("gestation")
    text = text_of(gestation_at)
    if gestation_at is None or not text:
        return True
    try:
        wanted = parse_range(text, "d")
    except QuantityError as error:
        expected = "a range of gestations such as below 32 wk"
        gestation_at.say(expected, error.code, hint=error.hint)
        return True
    return context.infant is None or wanted.contains(context.infant.gestation_days)
