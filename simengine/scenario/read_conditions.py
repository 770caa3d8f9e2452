"""The parts of a scenario that say what is wanted: ranges, words, protocol values, conditions.

A ``Context`` carries what names mean here; every function notes its problems at the place.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from math import inf
from typing import cast

from simengine.quantities import Range
from simengine.scenario.conditions import (
    NEVER_SO,
    ClockIs,
    Condition,
    Doing,
    Done,
    FaultIs,
    Given,
    Lately,
    Observed,
    Read,
    Seen,
    SettingIs,
    SoFar,
    SupplyIs,
    UnlessChanged,
    all_of,
    any_of,
    leaves,
    negated,
)
from simengine.scenario.forms import FROM_PROTOCOL, MOST_TIMES, SIDE, SIDE_IF_NOT_SAID
from simengine.scenario.gauges import as_shown, supply_read_as
from simengine.scenario.model import Infant
from simengine.scenario.place import Place, text_of
from simengine.scenario.protocol import Protocol
from simengine.scenario.read_fields import PLAIN, Names, Reader, Scope
from simengine.scenario.read_protocol import NoValueError, Side, scaled, value_for
from simengine.scenario.vocabulary import Dose, Observation, Setting, Vocabulary
from simengine.scenario.wanted import (
    AsShown,
    OneOf,
    ProtocolShare,
    ProtocolTime,
    Steps,
    Told,
    Value,
    Wanted,
)

AS_SHOWN = "as shown"
"""Written for a setting whose value is a reading of a gauge: what it showed then."""


@dataclass(frozen=True, slots=True)
class Context:
    """What the names in a scenario mean. ``protocol`` is ``None`` if it could not be read.

    ``infant``: ``None`` where a protocol is read for no baby in particular. ``guards``: a
    condition read is one that the engine waits for, and not one of the marking guide. ``doses``:
    the protocol's range of each drug and route, in the unit of its dose; ``care``: the conditions
    that the physiology names. ``planted``: the faults that the scenario has, where others may be
    named too, which are never there; ``None``: all of ``faults``.
    """

    vocabulary: Vocabulary
    protocol: Protocol | None
    infant: Infant | None
    faults: frozenset[str] = field(default_factory=frozenset)
    guards: bool = False
    doses: Mapping[str, Mapping[str, Range]] = field(default_factory=dict)
    care: Mapping[str, Condition] = field(default_factory=dict)
    planted: frozenset[str] | None = None

    @property
    def an_action(self) -> str:
        return f"an action of vocabulary '{self.vocabulary.id}'"

    @property
    def a_setting(self) -> str:
        return f"a setting of vocabulary '{self.vocabulary.id}'"

    @property
    def an_observation(self) -> str:
        return f"an observation of vocabulary '{self.vocabulary.id}'"

    @property
    def a_supply(self) -> str:
        return f"a supply of vocabulary '{self.vocabulary.id}'"


def scope_of(
    context: Context, names: Mapping[str, Names] | None = None, unit: str | None = None
) -> Scope:
    """Return the scope of a scenario's values: its vocabulary's names, and ``names`` besides."""
    of_vocabulary: dict[str, Names] = {
        "action": (context.vocabulary.actions, context.an_action),
        "setting": (context.vocabulary.settings, context.a_setting),
        "observation": (context.vocabulary.observations, context.an_observation),
    }
    return Scope({**of_vocabulary, **(names or {})}, _READERS, unit, context)


def is_protocol_value(place: Place) -> bool:
    """Whether a place says ``{protocol: NAME}`` in place of a range."""
    return place.get("protocol") is not None


def read_wanted(place: Place, subject: Setting | Observation, context: Context) -> Wanted | None:
    """Read what is wanted of a setting or observation; ``None`` after a problem."""
    if subject.words:
        return _read_words(place, subject)
    tolerance = subject.tolerance if isinstance(subject, Setting) else 0.0
    wanted = read_range(place, subject.unit or "", tolerance, context)
    plausible = subject.plausible if isinstance(subject, Setting) else None
    if (
        isinstance(wanted, Range)
        and wanted.protocol is None
        and plausible is not None
        and not _overlap(wanted, plausible)
    ):
        place.say(f"a range within the {plausible.text} of '{subject.name}'", "impossible-range")
    return wanted


def _overlap(first: Range, other: Range) -> bool:
    low, high = max(first.low, other.low), min(first.high, other.high)
    return low < high or (low == high and first.contains(low) and other.contains(low))


def read_range(place: Place, unit: str, tolerance: float, context: Context) -> Range | Steps | None:
    """Read a range, or the protocol's, in ``unit``; ``None`` after a problem."""
    if not unit:
        return None
    if place.is_map():
        return _from_protocol(place, unit, tolerance, context)
    return place.range(unit, tolerance)


def read_value(place: Place, subject: Setting, context: Context) -> Value | None:
    """Read the value that a setting has: a number in its unit, or one of its words."""
    if subject.words:
        return _word(place, subject)
    value = place.quantity(subject.unit or "") if subject.unit else None
    if (
        value is not None
        and subject.plausible is not None
        and not subject.plausible.contains(value)
    ):
        place.say(
            f"{subject.plausible.text} as the vocabulary has it", "implausible", level="warning"
        )
    return value


def read_settings(place: Place, context: Context) -> dict[str, Told]:
    """Read a map of settings to what is wanted of them, or of what is told of them."""
    settings: dict[str, Told] = {}
    for name, value in place.entries("a map of settings"):
        known = place.key(name).name_of_key(context.vocabulary.settings, context.a_setting)
        if known is not None:
            setting = context.vocabulary.settings[known]
            wanted = (
                _read_as_shown(value, setting, context.vocabulary)
                if value.is_scalar() and value.text() == AS_SHOWN
                else read_wanted(value, setting, context)
            )
            if wanted is not None:
                settings[known] = wanted
    return settings


def _read_as_shown(place: Place, setting: Setting, vocabulary: Vocabulary) -> AsShown | None:
    """Return what the gauge shows whose readings are written down as ``setting``."""
    supply, shown = supply_read_as(setting.name, vocabulary), as_shown(setting.name, vocabulary)
    if supply is None:
        place.say("a setting as which a gauge is read", "no-gauge", found=f"'{setting.name}'")
    elif shown is None:
        place.say(
            "a gauge that says how near a reading must be",
            "no-gauge",
            found=f"that of '{supply.name}', which has no 'told_within'",
        )
    return shown


def read_duration(place: Place | None, context: Context, *, negative: bool = False) -> int | None:
    """Read a time, or a single time of the protocol, in ms; ``None`` if not given or wrong."""
    if place is None:
        return None
    if not place.is_map():
        return place.duration(negative=negative)
    wanted = _from_protocol(place, "ms", 0.0, context)
    if isinstance(wanted, Range) and wanted.low == wanted.high:
        return ProtocolTime(round(wanted.low), wanted.reference)
    if wanted is not None and context.protocol is not None:
        place.say("a protocol value that is a single time", "not-single")
    return None


def read_share(place: Place | None, context: Context) -> float | None:
    """Read a share from 0 to 100 %, or a single one of the protocol, as a fraction of 1."""
    if place is None:
        return None
    if place.is_map():
        wanted = _from_protocol(place, "%", 0.0, context)
        if not (isinstance(wanted, Range) and wanted.low == wanted.high):
            if wanted is not None and context.protocol is not None:
                place.say("a protocol value that is a single share", "not-single")
            return None
        share, reference = wanted.low, wanted.reference
    else:
        percents = place.quantity("%")
        if percents is None:
            return None
        share, reference = percents, ""
    if not 0 <= share <= 100:
        place.say("a share from 0 to 100 %", "share")
        return None
    return ProtocolShare(share / 100, reference) if reference else share / 100


def read_condition(place: Place, context: Context) -> Condition | None:
    """Read a condition map: all that it names must hold. ``None`` after a problem."""
    parts: list[Condition | None] = []
    for key, value in place.entries("a condition such as {doing: …, settings: …}"):
        reader = _CLAUSES.get(key)
        if reader is None:
            # The schema says which keys there are; a place that it did not see is told here.
            place.key(key).wrong_form(f"one of {', '.join(_CLAUSES)}")
            continue
        parts += reader(value, context)
    right = [part for part in parts if part is not None]
    if not right:
        if place.is_sound():
            place.wrong_form("a condition such as {doing: …, settings: …}")
        return None
    return all_of(right)


def _from_protocol(
    place: Place, unit: str, tolerance: float, context: Context
) -> Range | Steps | None:
    named, side_at = place.need("protocol"), place.get("side")
    side = side_at.word(SIDE.values) if side_at is not None else SIDE_IF_NOT_SAID
    if named is None:
        return None
    if side_at is not None and place.get("beyond") is not None:
        place.key("side").say("no 'side' beside 'beyond'", "needless-key", found="")
        return None
    if context.protocol is None:
        return Range()
    name = named.name(context.protocol.values, f"a value of protocol '{context.protocol.id}'")
    if name is None:
        return None
    if not context.protocol.values[name].rows:
        return Range()
    try:
        wanted = value_for(
            context.protocol, name, context.infant, unit, tolerance, cast("Side", side)
        )
        made = _scaled(place, wanted, unit)
        return replace(made, reference=_reference(place)) if made is not None else None
    except NoValueError as error:
        named.say(error.expected, error.code, hint=error.hint)
        return None


def _reference(place: Place) -> str:
    """Say all that is asked of a protocol value, in one way for each: ``recheck; times 2``."""
    words = [text_of(place.get("protocol"))]
    for key in ("side", "times", "plus", "beyond"):
        at = place.get(key)
        if at is not None and at.text() != FROM_PROTOCOL.keys[key].default:
            words.append(f"{key} {' '.join(at.text().split())}")
    return "; ".join(words)


def _scaled(place: Place, wanted: Range | Steps, unit: str) -> Range | Steps | None:
    """Apply ``times``, ``plus`` and ``beyond`` to a figure of the protocol."""
    times_at, plus_at, beyond_at = (place.get(key) for key in ("times", "plus", "beyond"))
    if times_at is None and plus_at is None and beyond_at is None:
        return wanted
    times = times_at.number() if times_at is not None else 1.0
    plus = plus_at.difference(unit) if plus_at is not None else 0.0
    beyond = beyond_at.quantity("%") if beyond_at is not None else None
    if beyond_at is not None and beyond is not None and beyond < 100:
        beyond_at.say("a share of 100 % or more", "share")
    if times_at is not None and not 0.0 < times <= MOST_TIMES:
        times_at.wrong_form(f"a number above 0, at most {MOST_TIMES}")
        return None
    if plus is None or (beyond is None and beyond_at is not None):
        return None
    if isinstance(wanted, Steps):
        rows = tuple(
            (since, scaled(row, unit, times, plus, beyond, wanted.protocol))
            for since, row in wanted.rows
        )
        return Steps(rows, wanted.protocol)
    return scaled(wanted, unit, times, plus, beyond, wanted.protocol or "")


def _word(place: Place, subject: Setting | Observation) -> str | None:
    return place.name(subject.words, f"a word of '{subject.name}'")


def _read_words(place: Place, subject: Setting | Observation) -> OneOf | None:
    if place.is_map():
        place.say(f"a word of '{subject.name}', or a list of them", "form")
        return None
    words = [_word(item, subject) for item in place.one_or_more(f"a word of '{subject.name}'")]
    right = tuple(word for word in words if word is not None)
    return OneOf(right) if right and len(right) == len(words) else None


def _for_marking(place: Place, context: Context) -> bool:
    """Whether a clause that only marking can judge stands in the marking guide."""
    if context.guards:
        place.say(
            "a clause that the engine can wait for",
            "not-a-guard",
            found=f"'{place.path[-1]}'",
            hint="it is for the marking guide alone",
        )
    return not context.guards


Clause = Callable[[Place, Context], list[Condition | None]]


def _doing(place: Place, context: Context) -> list[Condition | None]:
    conditions: list[Condition | None] = []
    for item in place.one_or_more("an action, or a list of them"):
        name = item.name(context.vocabulary.actions, context.an_action)
        if name is not None and not context.vocabulary.actions[name].lasting:
            item.say("an action that lasts", "not-lasting", hint=f"write 'done: {name}'")
            name = None
        conditions.append(Doing(name) if name is not None else None)
    return conditions


def _done(place: Place, context: Context, *, ever: bool = False) -> list[Condition | None]:
    names = [
        item.name(context.vocabulary.actions, context.an_action)
        for item in place.one_or_more("an action, or a list of them")
    ]
    return [Done(name, ever) if name is not None else None for name in names]


def _done_ever(place: Place, context: Context) -> list[Condition | None]:
    return _done(place, context, ever=True)


def _given(place: Place, context: Context) -> list[Condition | None]:
    if not context.guards:
        return _for_guards(place)
    return [
        _drug(place.key(name), value, context) for name, value in place.entries("a map of drugs")
    ]


def _drug(key: Place, place: Place, context: Context) -> Condition | None:
    name = key.name_of_key(context.vocabulary.actions, context.an_action)
    dose = context.vocabulary.actions[name].dose if name is not None else None
    if name is not None and dose is None:
        key.say("an action that carries a dose", "no-dose", found=f"'{name}'")
    over_at = place.get("over") if place.is_map() else None
    if over_at is not None:
        return _pace(name, dose, place, over_at, context)
    of, by = (place.need("of"), place.need("by")) if place.is_map() else (place, None)
    share = of.range("%") if of is not None else None
    if name is None or dose is None or share is None:
        return None
    routes = tuple(
        route
        for item in (by.one_or_more("a route, or a list of them") if by is not None else ())
        if (route := item.name(dose.routes, f"a route of '{name}'")) is not None
    )
    ranges = {
        route: _share_of(share, wanted)
        for route, wanted in context.doses.get(name, {}).items()
        if not routes or route in routes
    }
    return Given(name, share, routes, dose.in_parts, ranges)


def _pace(
    name: str | None, dose: Dose | None, place: Place, over_at: Place, context: Context
) -> Condition | None:
    """Read how fast a drug was given, which stands alone: the amount is a condition of its own."""
    for key in ("of", "by"):
        if place.get(key) is not None:
            place.key(key).say(f"no '{key}' beside 'over'", "needless-key", found="")
    if name is None or dose is None:
        return None
    if dose.over_unit is None:
        over_at.say(
            "a dose with a time over which it is given",
            "no-dose",
            found=f"'{name}', which has none",
        )
        return None
    over = read_range(over_at, dose.over_unit, dose.over_tolerance, context)
    return Given(name, Range(), (), dose.in_parts, {}, over) if type(over) is Range else None


def _share_of(share: Range, wanted: Range) -> Range:
    """Return a share of the protocol's dose: below 100 % of its low end, from there of its high."""
    low, high = (
        end if abs(end) == inf else end / 100 * (wanted.low if end < 100 else wanted.high)
        for end in (share.low, share.high)
    )
    return Range(low, high, share.low_open, share.high_open, share.text)


def _care(place: Place, context: Context) -> list[Condition | None]:
    conditions: list[Condition | None] = []
    for item in place.one_or_more("a name of the physiology's care, or a list of them"):
        name = item.name(context.care, "care that the physiology names")
        condition = context.care[name] if name is not None else None
        conditions.append(condition)
    drugs = (
        leaf for part in conditions if part for leaf in leaves(part) if isinstance(leaf, Given)
    )
    if not context.guards and any(True for _ in drugs):
        return _for_guards(place)
    return conditions


def _for_guards(place: Place) -> list[Condition | None]:
    place.say(
        "a clause that the marking guide can judge",
        "a-guard",
        found=f"'{place.path[-1]}'",
        hint="it is for guards and physiology; the marking guide asks for a dose by 'dose'",
    )
    return [None]


def _settings(place: Place, context: Context) -> list[Condition | None]:
    conditions: list[Condition | None] = []
    for name, value in place.entries("a map of settings"):
        known = place.key(name).name_of_key(context.vocabulary.settings, context.a_setting)
        wanted = read_wanted(value, context.vocabulary.settings[known], context) if known else None
        conditions.append(SettingIs(name, wanted) if wanted is not None else None)
    return conditions


def _observed(place: Place, context: Context) -> list[Condition | None]:
    conditions: list[Condition | None] = []
    for name, value in place.entries("a map of observations"):
        known = place.key(name).name_of_key(context.vocabulary.observations, context.an_observation)
        wanted = (
            read_wanted(value, context.vocabulary.observations[known], context) if known else None
        )
        conditions.append(Observed(name, wanted) if wanted is not None else None)
    return conditions


def _read(place: Place, context: Context) -> list[Condition | None]:
    if not _for_marking(place, context):
        return [None]
    within = read_duration(place.get("within"), context)
    conditions: list[Condition | None] = []
    for name, value in place.entries("a map of observations, perhaps with 'within'"):
        if name == "within":
            continue
        known = place.key(name).name_of_key(context.vocabulary.observations, context.an_observation)
        if known is None:
            continue
        observation = context.vocabulary.observations[known]
        if not observation.revealed_by:
            place.key(name).say(
                "an observation that an action reveals",
                "not-read",
                found=f"'{known}', which anyone can see",
                hint=f"write 'observed: {{{known}: …}}'",
            )
            continue
        wanted = read_wanted(value, observation, context)
        conditions.append(Read(known, wanted, within) if wanted is not None else None)
    if place.is_map() and not conditions and place.get("within") is not None:
        place.say("an observation beside 'within'", "missing-key", found="none")
    return conditions


def _so_far(place: Place, context: Context) -> list[Condition | None]:
    part, duration = _timed(place, context, "at least")
    return [SoFar(part, duration) if part is not None else None]


def _lately(place: Place, context: Context) -> list[Condition | None]:
    part, duration = _timed(place, context, "within")
    return [Lately(part, duration) if part is not None else None]


def _timed(place: Place, context: Context, key: str) -> tuple[Condition | None, int]:
    """Read ``{of: a condition, KEY: a time}``."""
    if not _for_marking(place, context):
        return None, 0
    of, at = place.need("of"), place.need(key)
    part = read_condition(of, context) if of is not None else None
    duration = read_duration(at, context)
    if at is not None and duration == 0:
        at.say("a time above 0 s", "zero-time")
    return part, duration or 0


def _unless_changed(place: Place, context: Context) -> list[Condition | None]:
    conditions: list[Condition | None] = []
    for name, value in place.entries("a map of settings to lower or higher"):
        if not _for_marking(place, context):
            return [None]
        known = place.key(name).name_of_key(context.vocabulary.settings, context.a_setting)
        direction = value.word(("lower", "higher"))
        if known is not None and context.vocabulary.settings[known].words:
            place.key(name).say(
                "a setting with a unit", "words-for-number", found=f"'{known}', told in words"
            )
        elif known is not None:
            conditions.append(UnlessChanged(known, "lower" if direction == "lower" else "higher"))
    return conditions


def _seen(place: Place, context: Context) -> list[Condition | None]:
    names = [
        item.name(context.vocabulary.observations, context.an_observation)
        for item in place.one_or_more("an observation, or a list of them")
    ]
    return [Seen(name) if name is not None else None for name in names]


def _supplies(place: Place, context: Context) -> list[Condition | None]:
    conditions: list[Condition | None] = []
    for name, value in place.entries("a map of supplies"):
        known = place.key(name).name_of_key(context.vocabulary.supplies, context.a_supply)
        if not known:
            continue
        supply = context.vocabulary.supplies[known]
        if value.is_scalar() and value.text() == "empty":
            conditions.append(SupplyIs(known, Range(high=0.0, text="empty")))
            continue
        wanted: Range | None
        if value.is_scalar() and "%" in value.text():
            share = value.range("%")
            wanted = share and _of(share, supply.capacity)
        else:
            given = read_range(value, supply.unit, 0.0, context)
            if isinstance(given, Steps):
                value.say("a protocol value that is not by the clock", "by-clock")
            wanted = given if isinstance(given, Range) else None
        conditions.append(SupplyIs(known, wanted) if wanted is not None else None)
    return conditions


def _of(share: Range, capacity: float) -> Range:
    low = share.low * capacity / 100 if share.low > -inf else -inf
    high = share.high * capacity / 100 if share.high < inf else inf
    return Range(low, high, share.low_open, share.high_open, share.text)


def _faults(place: Place, context: Context) -> list[Condition | None]:
    conditions: list[Condition | None] = []
    for name, value in place.entries("a map of faults"):
        known = place.key(name).name_of_key(context.faults, "a fault of start.faults")
        status = value.word(("planted", "found", "mended"))
        if known is not None and context.planted is not None and known not in context.planted:
            conditions.append(NEVER_SO)
        elif known is not None:
            conditions.append(
                FaultIs(
                    known,
                    "planted"
                    if status == "planted"
                    else "found"
                    if status == "found"
                    else "mended",
                )
            )
    return conditions


def _clock(place: Place, context: Context) -> list[Condition | None]:
    wanted = read_range(place, "ms", 0.0, context)
    if isinstance(wanted, Steps):
        place.say("a protocol value that is not by the clock", "by-clock")
        return [None]
    return [ClockIs(wanted) if wanted is not None else None]


def _several(place: Place, context: Context) -> tuple[Condition, ...]:
    parts = [read_condition(item, context) for item in place.elements("a list of conditions")]
    return tuple(part for part in parts if part is not None)


def _any(place: Place, context: Context) -> list[Condition | None]:
    parts = _several(place, context)
    return [any_of(parts) if parts else None]


def _all(place: Place, context: Context) -> list[Condition | None]:
    parts = _several(place, context)
    return [all_of(parts) if parts else None]


def _not(place: Place, context: Context) -> list[Condition | None]:
    part = read_condition(place, context)
    return [negated(part) if part is not None else None]


_CLAUSES: Mapping[str, Clause] = {
    "doing": _doing,
    "done": _done,
    "done_ever": _done_ever,
    "given": _given,
    "care": _care,
    "settings": _settings,
    "observed": _observed,
    "seen": _seen,
    "read": _read,
    "supplies": _supplies,
    "faults": _faults,
    "clock": _clock,
    "any": _any,
    "all": _all,
    "not": _not,
    "so_far": _so_far,
    "lately": _lately,
    "unless_changed": _unless_changed,
}
"""The keys of a condition map; a test holds them against the schema."""

_READERS: Mapping[str, Reader] = {
    **PLAIN,
    "when": lambda place, form, scope: read_duration(place, scope.context),
    "share": lambda place, form, scope: read_share(place, scope.context),
    "condition": lambda place, form, scope: read_condition(place, scope.context),
    "settings": lambda place, form, scope: read_settings(place, scope.context),
}
"""The readers of what may need a protocol, a baby or a vocabulary as well."""
