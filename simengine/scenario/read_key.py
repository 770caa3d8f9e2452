"""The ``key`` of a scenario file → key items.

Rules of this file:

- The kind of an item is the one of the words of ``CLASSES`` that it has.
- An id that is not given is ``kind:name``, the next of the same kind and name ``kind:name:2``, …
- What a kind has beyond the forms of its fields it reads itself, with an ``ItemReader``.
- ``taught: NAME`` leaves an item out under a protocol that has no such value.
- ``reference: {protocol: NAME}`` is the source that the chosen protocol gives for that value.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from simengine.scenario.item_reader import ItemReader, Names
from simengine.scenario.key import AskedFault, Item
from simengine.scenario.kinds import CLASSES
from simengine.scenario.model import Fault, MendedBySetting
from simengine.scenario.place import Place
from simengine.scenario.read_conditions import Context, is_protocol_value, scope_of
from simengine.scenario.read_fields import Scope, read_fields
from simengine.scenario.wanted import OneOf

PROTOCOL_SOURCE = "protocol:"
"""What the reference of an item begins with whose source is that of a protocol's value."""
OF_THE_COT = "cot"
"""The reference of an item whose source is that of the catalogue of the cot."""
MOST_ITEMS = 500
"""Ten times what anybody could watch for; the checks hold each against all others."""


def read_key(place: Place, context: Context, names: Names) -> tuple[tuple[Item, Place], ...]:
    """Read the key: each item with its place. An item that has a problem is left out."""
    read: list[tuple[Item, Place]] = []
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
            read.append((item, item_at))
    return tuple(read)


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
            given = " and ".join(f"'{kind}'" for kind in kinds) or "none of them"
            near = [k for key, _ in place.entries() for k in get_close_matches(key, CLASSES, n=1)]
            hint = f"did you mean '{near[0]}'?" if near and not kinds else ""
            place.say(f"one of {', '.join(CLASSES)}", "item-kind", found=given, hint=hint)
        else:
            place.wrong_form("a key item such as {expect: …, from: …, ideal: 60 s}")
        return None
    kind = kinds[0]
    what = place.get(kind)
    assert what is not None
    reader = ItemReader(place, what, read_fields(CLASSES[kind], place, scope), context, names)
    reference = _reference(place.get("reference"), context, names)
    item = replace(CLASSES[kind].read(reader), reference=reference)
    if not place.is_sound():
        return None
    return _named(_from_the_cot(item, names.faults), reader, taken, ids)


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


def _named(item: Item, reader: ItemReader, taken: dict[str, int], given: dict[str, int]) -> Item:
    """Give an item the id and title that it was not given."""
    base, title = item.named(reader)
    identity = item.id
    if not identity:
        name = f"{item.kind}:{base}"
        count = taken.get(name, 0)
        while True:
            count += 1
            full = name if count == 1 else f"{name}:{count}"
            if full not in given:
                break
        taken[name] = count
        identity = full
    return replace(item, id=identity, title=item.title or title)


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
