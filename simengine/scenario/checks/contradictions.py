"""Where figures written into the key and the chosen protocol disagree.

Rules of this file:

- A figure disagrees if it lets pass what the protocol's does not: an end of its range that lies
  beyond the same end of the protocol's. What is stricter than the protocol agrees with it.
- What is not advised, by a clause that stands alone, disagrees if it leaves nothing of what the
  protocol asks for.
- A time by which, or how often, something is asked may be shorter; how long to wait must be the
  same.
- ``{protocol: NAME}`` agrees by itself. What changes with the clock is not compared.
- Each problem names the value, its file and line, and its source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf
from pathlib import Path
from typing import NamedTuple

from simengine.quantities import Range, format_range
from simengine.quantities.ranges import CLOSE
from simengine.scenario.checks.implied import conjuncts, meet, within
from simengine.scenario.conditions import Condition, Not, Observed, SettingIs
from simengine.scenario.key import AskedAction, AskedSetting, Item
from simengine.scenario.model import MendedBySetting, Scenario
from simengine.scenario.place import Place
from simengine.scenario.protocol_subjects import Subject
from simengine.scenario.read_protocol import NoValueError, value_for
from simengine.scenario.read_scenario import Read
from simengine.scenario.wanted import AsShown, Wanted

_EXACT = ("lasting",)


class _Figure(NamedTuple):
    """A figure as written: what it is a figure of, and the item that it stands in.

    ``shunned``: not advised, so that something of what the protocol asks for must be left.
    """

    at: Place
    aspect: str
    name: str
    wanted: Range
    unit: str
    tolerance: float = 0.0
    route: str | None = None
    action: str | None = None
    anchor: str | None = None
    shunned: bool = False


def check_agreement(root: Place, read: Read, subjects: Mapping[str, Subject]) -> None:
    """Note each figure of the key that the protocol contradicts."""
    scenario = read.scenario
    figures = [
        figure
        for item, place in read.key_places
        for figure in _figures(item, place, scenario)
        if figure.wanted.protocol is None
    ]
    figures += _faults(root, scenario)
    for figure in figures:
        for value, subject in subjects.items():
            if _speaks_of(subject, figure):
                _compare(figure, value, scenario)


def _speaks_of(subject: Subject, figure: _Figure) -> bool:
    return (
        (subject.aspect, subject.name) == (figure.aspect, figure.name)
        and (not subject.routes or figure.route in subject.routes)
        and subject.action in (None, figure.action)
        and subject.anchor in (None, figure.anchor)
    )


def _compare(figure: _Figure, name: str, scenario: Scenario) -> None:
    value = scenario.protocol.values.get(name)
    if value is None:
        return
    tolerance = 0.0 if figure.shunned else figure.tolerance
    try:
        theirs = value_for(scenario.protocol, name, scenario.infant, figure.unit, tolerance)
    except NoValueError:
        return
    if not isinstance(theirs, Range):
        return
    words = theirs.text or format_range(theirs, figure.unit)
    if figure.shunned:
        disagrees, expected = within(theirs, figure.wanted), f"something left of {words}"
    else:
        disagrees, expected = _beyond(figure, theirs), words
    if not disagrees:
        return
    file, line = value.at
    where = "/".join(Path(file).parts[-2:])
    source = next((row.source for row in value.rows if row.range.text == theirs.text), "")
    figure.at.say(
        f"{expected}, as '{name}' of protocol '{scenario.protocol.id}' has it",
        "against-protocol",
        found=f"'{figure.wanted.text}'",
        level="warning",
        hint=f"{where}:{line}, {source or value.rows[0].source}",
    )


def _beyond(figure: _Figure, theirs: Range) -> bool:
    """Whether a range lets pass what theirs does not."""
    ours = figure.wanted
    high = ours.high < inf and ours.high - theirs.high > CLOSE * abs(ours.high)
    low = ours.low > -inf and theirs.low - ours.low > CLOSE * abs(ours.low)
    if figure.aspect in ("ideal", "every"):
        return high
    return high or low or (figure.aspect not in _EXACT and not meet(ours, theirs))


def _faults(root: Place, scenario: Scenario) -> Iterator[_Figure]:
    start = root.get("start")
    faults = start.get("faults") if start is not None else None
    for name, fault in scenario.start.faults.items():
        place = faults.get(name) if faults is not None else None
        mended = fault.mended_by
        at = place.get("mended_by") if place is not None else None
        to = at.get("to") if at is not None else None
        if isinstance(mended, MendedBySetting) and to is not None:
            yield from _setting(to, mended.setting, mended.wanted, scenario)


def _figures(item: Item, place: Place, scenario: Scenario) -> Iterator[_Figure]:
    what = place.get(item.kind)
    if item.kept is not None:
        yield from _condition(what or place, item.kept, scenario, shunned=False)
    if item.not_to_hold is not None:
        yield from _condition(what or place, item.not_to_hold, scenario, shunned=True)
    subject = item.asked
    action = subject.action if isinstance(subject, AskedAction) else None
    anchor = item.anchor.kind if item.anchor is not None else None
    settings = place.get("settings") if item.settings else None
    for name, wanted in item.settings.items():
        if isinstance(wanted, AsShown):
            continue
        at = settings.get(name) if settings is not None else None
        yield from _setting(at or place, name, wanted, scenario, action, anchor)
    if isinstance(subject, AskedSetting) and subject.to is not None:
        to = what.get("to") if what is not None else None
        yield from _setting(to or place, subject.setting, subject.to, scenario, None, anchor)
    if action is None:
        return
    for key, ms in item.times_asked.items():
        yield from _time(place, key, action, ms, anchor)
    if item.whenever is not None:
        whenever = place.get("whenever")
        for part in conjuncts(item.whenever):
            if isinstance(part, Observed) and isinstance(part.wanted, Range):
                unit = scenario.vocabulary.observations[part.observation].unit or ""
                yield _Figure(
                    whenever or place,
                    "observed",
                    part.observation,
                    part.wanted,
                    unit,
                    action=action,
                )
    yield from _dose(item, action, place, scenario)


def _dose(item: Item, action: str, place: Place, scenario: Scenario) -> Iterator[_Figure]:
    dose, carried = item.dose, scenario.vocabulary.actions[action].dose
    if dose is None or carried is None:
        return
    at, strength = place.get("dose"), place.get("strength")
    amounts = dict(dose.by_route) or {
        route: dose.amount for route in dose.routes or carried.routes if dose.amount is not None
    }
    for route, wanted in amounts.items():
        if isinstance(wanted, Range) and at is not None:
            own = at.get(route) or at
            yield _Figure(
                own, "dose", action, wanted, carried.unit, carried.tolerance, route, action
            )
    if isinstance(dose.strength, Range) and strength is not None and carried.strength_unit:
        yield _Figure(
            strength,
            "strength",
            action,
            dose.strength,
            carried.strength_unit,
            carried.strength_tolerance,
        )


def _setting(
    at: Place,
    name: str,
    wanted: Wanted,
    scenario: Scenario,
    action: str | None = None,
    anchor: str | None = None,
    *,
    shunned: bool = False,
) -> Iterator[_Figure]:
    setting = scenario.vocabulary.settings[name]
    if isinstance(wanted, Range) and setting.unit is not None and wanted.protocol is None:
        yield _Figure(
            at,
            "setting",
            name,
            wanted,
            setting.unit,
            setting.tolerance,
            None,
            action,
            anchor,
            shunned,
        )


def _condition(
    at: Place, condition: Condition, scenario: Scenario, *, shunned: bool
) -> Iterator[_Figure]:
    parts = conjuncts(condition)
    for part in parts:
        leaf = part.part if isinstance(part, Not) else part
        turned = shunned is not isinstance(part, Not)
        if isinstance(leaf, SettingIs) and (len(parts) == 1 or not turned):
            yield from _setting(at, leaf.setting, leaf.wanted, scenario, shunned=turned)


def _time(
    place: Place, key: str, action: str, ms: int, anchor: str | None = None
) -> Iterator[_Figure]:
    at = place.get(key)
    if at is not None and at.is_scalar():
        wanted = Range(float(ms), float(ms), text=at.text())
        yield _Figure(at, key, action, wanted, "ms", anchor=anchor)
