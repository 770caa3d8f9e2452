"""How a session begins: settings, supplies and what is planted, from a scenario's tree.

Rules of this file:

- A fault of the catalogue is planted by its name alone, in a list or with ``{}``; each key that
  the scenario gives takes the place of the catalogue's.
- What a fault that is planted at the start leaves standing, empty or running is how the session
  begins; the same said twice is an error, since nobody could tell which holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, NamedTuple

from simengine.quantities import Quantity, QuantityError, parse_quantity
from simengine.quantities.units import same_dimension
from simengine.scenario.equipment_file import faults_at
from simengine.scenario.model import Fault, MendedBySetting, Start
from simengine.scenario.place import Place
from simengine.scenario.positions import Mapping as Map
from simengine.scenario.read_conditions import Context, read_value, read_wanted
from simengine.scenario.read_fields import Scope, read_fields
from simengine.scenario.vocabulary import Setting, Vocabulary
from simengine.scenario.wanted import Value


class Planted(NamedTuple):
    """Where a fault is planted: ``own``, what the scenario says; ``known``, the catalogue."""

    at: Place
    own: Place | None
    known: Place | None
    row: str

    def get(self, key: str) -> Place | None:
        """Return what is said of a key: by the scenario, else by the catalogue."""
        own = self.own.get(key) if self.own is not None else None
        known = self.known.get(key) if self.known is not None else None
        return own if own is not None else known


class Left(NamedTuple):
    """What stands, is left, and runs. ``figure``: the first of it, as written."""

    settings: dict[str, Value]
    supplies: dict[str, float]
    doing: tuple[str, ...]
    as_found: dict[str, Quantity]
    figure: str = ""


def planted_at(
    start: Place | None, cot: Place | None, vocabulary: Vocabulary
) -> dict[str, Planted]:
    """Return the faults that a scenario plants, each with where it stands, by name."""
    at = start.get("faults") if start is not None else None
    if at is None:
        return {}
    known = faults_at(cot) if cot is not None else {}
    what = f"a fault of the cot of vocabulary '{vocabulary.id}'"
    planted: dict[str, Planted] = {}
    if at.is_list():
        for item in at.elements():
            name = item.name(known, what)
            if name is not None:
                row, there = known[name]
                planted[name] = Planted(item, None, there, row)
        return planted
    not_known: tuple[str, Place | None] = ("", None)
    for name, own in at.entries("a list of faults of the cot, or a map of faults"):
        row, of_cot = known.get(name, not_known)
        if of_cot is None and isinstance(own.node, Map) and not own.node.items:
            near = at.book.name_hint(name, known)
            at.key(name).say(what, "unknown-name", found=f"'{name}'", hint=near)
            continue
        if of_cot is None:
            own.need("shows")
        planted[name] = Planted(own, own, of_cot, row)
    return planted


def faults_of(vocabulary: Vocabulary) -> frozenset[str]:
    """Return the names of the faults that any scenario of a vocabulary can plant."""
    cot = vocabulary.equipment
    return frozenset(cot.faults() if cot is not None else ())


def every_fault(cot: Place) -> dict[str, Planted]:
    """Return every fault of a catalogue as if a scenario planted it by its name."""
    return {name: Planted(at, None, at, row) for name, (row, at) in faults_at(cot).items()}


def read_faults(planted: Mapping[str, Planted], scope: Scope) -> dict[str, Fault]:
    """Read the faults of a scenario."""
    return {name: _fault(name, at, scope) for name, at in planted.items()}


def _fault(name: str, planted: Planted, scope: Scope) -> Fault:
    given: dict[str, Any] = {}
    for place in (planted.known, planted.own):
        if place is not None:
            given |= {
                key: value
                for key, value in read_fields(Fault, place, scope).items()
                if place.get(_KEYS.get(key, key)) is not None
            }
    left = _left(planted, scope.context)
    for text in ("shows", "plant", "put_back"):
        if left.figure and text in given:
            given[text] = given[text].replace("{figure}", left.figure)
    return Fault(
        name=name,
        shows=given.pop("shows", ""),
        mended_by=_mended_by(planted.get("mended_by"), scope),
        row=planted.row,
        settings=left.settings,
        supplies=left.supplies,
        doing=left.doing,
        as_found=left.as_found,
        **given,
    )


_KEYS = {"planted_at_start": "planted"}


def _mended_by(place: Place | None, scope: Scope) -> str | MendedBySetting | None:
    if place is None:
        return None
    vocabulary = scope.context.vocabulary
    if not place.is_map():
        return place.name(vocabulary.actions, scope.context.an_action)
    setting = read_fields(MendedBySetting, place, scope)["setting"]
    to = place.need("to")
    if not setting or to is None:
        return None
    wanted = read_wanted(to, vocabulary.settings[setting], scope.context)
    return MendedBySetting(setting, wanted) if wanted is not None else None


def read_start(place: Place | None, faults: Mapping[str, Fault], scope: Scope) -> Start:
    """Read how a session begins, what its faults leave of the cot included."""
    if place is None:
        return Start("", None, {}, {}, faults)
    left = _left(Planted(place, place, None, ""), scope.context)
    start = Start(
        **read_fields(Start, place, scope),
        settings=left.settings,
        supplies=left.supplies,
        faults=faults,
        doing=left.doing,
        as_found=left.as_found,
    )
    for fault in faults.values():
        if fault.planted_at_start:
            start = _with(start, fault, place, scope.context.vocabulary.supplies)
    return start


def _with(start: Start, fault: Fault, place: Place, known: Iterable[str]) -> Start:
    """Return the start with what a fault leaves; ``known``: supplies in the vocabulary's order."""
    faults = place.get("faults")
    for what, name in (
        *(("settings", name) for name in fault.settings if name in start.settings),
        *(("supplies", name) for name in fault.supplies if name in start.supplies),
    ):
        if faults is not None:
            faults.say(
                f"'{name}' said once",
                "said-twice",
                found=f"by the fault '{fault.name}', and by 'start.{what}' or another fault",
            )
    left = {**start.supplies, **fault.supplies}
    return replace(
        start,
        settings={**start.settings, **fault.settings},
        supplies={name: left[name] for name in known if name in left},
        doing=tuple(dict.fromkeys((*start.doing, *fault.doing))),
        as_found={**start.as_found, **fault.as_found},
    )


def _left(planted: Planted, context: Context) -> Left:
    vocabulary = context.vocabulary
    settings: dict[str, Value] = {}
    supplies: dict[str, float] = {}
    as_found: dict[str, Quantity] = {}
    written: list[str] = []
    settings_at, supplies_at = planted.get("settings"), planted.get("supplies")
    for name, value in settings_at.entries("a map of settings") if settings_at is not None else ():
        assert settings_at is not None
        known = settings_at.key(name).name_of_key(vocabulary.settings, context.a_setting)
        read = read_value(value, vocabulary.settings[known], context) if known else None
        if known is not None and read is not None:
            settings[known] = read
            written.append(value.text())
            stands = _as_found(value, vocabulary.settings[known])
            if stands is not None:
                as_found[known] = stands
    for name, value in supplies_at.entries("a map of supplies") if supplies_at is not None else ():
        assert supplies_at is not None
        known = supplies_at.key(name).name_of_key(vocabulary.supplies, context.a_supply)
        if known is not None:
            supplies[known] = _contents(value, known, context)
            written.append(value.text())
    return Left(
        settings,
        supplies,
        _running(planted.get("doing"), context),
        as_found,
        written[0] if written else "",
    )


def _running(place: Place | None, context: Context) -> tuple[str, ...]:
    running: list[str] = []
    for item in place.one_or_more("a list of actions") if place is not None else ():
        action = item.name(context.vocabulary.actions, context.an_action)
        if action is not None and not context.vocabulary.actions[action].lasting:
            item.say("an action that lasts", "not-lasting")
        elif action is not None:
            running.append(action)
    return tuple(running)


def _as_found(place: Place, setting: Setting) -> Quantity | None:
    """Return what a gauge shows, where that is in another unit than the setting's own."""
    if setting.unit is None:
        return None
    try:
        stands = parse_quantity(place.text(), setting.unit)
    except QuantityError:
        return None
    return stands if stands.unit != setting.unit else None


def _contents(place: Place, name: str, context: Context) -> float:
    """Read contents: a share of the capacity, an amount, or what stands on the gauge."""
    supply = context.vocabulary.supplies[name]
    gauge = supply.gauge
    text = place.text("a share of its capacity such as 90 %")
    if not text or not supply.unit:
        return 0.0
    contents: float | None
    if "%" in text:
        share = place.quantity("%")
        contents = None if share is None else supply.capacity * share / 100
    elif gauge is not None and _is_in(text, gauge.unit):
        reading = place.quantity(gauge.unit)
        contents = None if reading is None else supply.capacity * reading / gauge.full
    else:
        contents = place.quantity(supply.unit)
    if contents is not None and not 0 <= contents <= supply.capacity * (1 + 1e-9):
        place.say(f"0 to 100 % of its {supply.capacity:g} {supply.unit}", "contents")
    return contents or 0.0


def _is_in(text: str, unit: str) -> bool:
    try:
        return same_dimension(parse_quantity(text).unit, unit)
    except QuantityError:
        return False
