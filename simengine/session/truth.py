"""When a condition holds: the one evaluator of conditions, by algebra of intervals.

Rules of this file:

- A truth is a list of [start, end) stretches in whole ms, apart from each other and in order.
- Nothing is sampled: each leaf is solved for the instants at which it turns.
- What is not known is false, and ``Not`` of it true.
- In force means start <= t < stop. A setting has a value from its change until the next: that of
  the dial, by which a scenario's course, faults and marks go. What the infant answers to is judged
  on the timeline ``at_the_infant``.
- ``Done`` since a state's entry: what was done at the very ms of the entry belongs to the state
  that is left, since people's events come first; only the first state has nothing before it.
- A ``Steps`` range is the row of the last instant reached on the team's clock.
- A reading is the true value at its instant, whatever was told of it; a sensor that streams reads
  at every instant. ``Read``, ``SoFar``, ``Lately`` and ``UnlessChanged`` are for the marking guide.
- ``UnlessChanged`` is false at the instant of each meaningful change that way alone, so that a
  condition which must last begins anew there.
- The same code judges guards (the record as known then) and scores (the best account).
- A crossing is solved once for each bend of a curve.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil, floor
from typing import Literal

from simengine.quantities import Range
from simengine.quantities.ranges import CLOSE
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
from simengine.scenario.wanted import OneOf, Steps, Value, Wanted
from simengine.session.doses import DoseGiven
from simengine.session.dynamics import curve_within, level_within
from simengine.session.readings import Sensing
from simengine.session.record import NEVER, Interval, Level, Segment

Truth = list[Interval]
FaultStatus = Literal["planted", "found", "mended"]


class Solved:
    """Where one curve lies in one range, each bend solved once.

    ``wanted`` and the segments are held, so that none of another run is taken for them.
    """

    __slots__ = ("_crossings", "_whole", "_whole_of", "wanted")

    def __init__(self, wanted: Range) -> None:
        self.wanted = wanted
        self._crossings: dict[int, tuple[Segment, Interval | None]] = {}
        self._whole: Truth = []
        self._whole_of: tuple[Sequence[Segment], int, Segment] | None = None

    def truth(self, source: Sequence[Segment], start: int, end: int) -> Truth:
        """Return where in [start, end) the curve ``source`` lies in the range.

        The curve is taken to go on as it is. What bends before ``start`` is not gone through.
        """
        if start > 0:
            return clipped(self._from(source, _first_at(source, start)), start, end)
        whole_of = self._whole_of
        if (
            whole_of is None
            or whole_of[0] is not source
            or whole_of[1] != len(source)
            or whole_of[2] is not source[-1]
        ):
            self._whole = self._from(source, 0)
            self._whole_of = (source, len(source), source[-1])
        return clipped(self._whole, start, end)

    def _from(self, source: Sequence[Segment], place: int) -> Truth:
        """Where the curve lies in the range from the segment at ``place`` on."""
        crossings = self._crossings
        holds: Truth = []
        last = len(source) - 1
        for number in range(place, last + 1):
            segment = source[number]
            solved = crossings.get(id(segment))
            if solved is None or solved[0] is not segment:
                solved = crossings[id(segment)] = (segment, curve_within(segment, self.wanted))
            crossing = solved[1]
            if crossing is not None:
                until = source[number + 1].start_ms if number < last else NEVER
                _append(holds, crossing, 0, until)
        return holds


@dataclass(slots=True)
class Timeline:
    """What conditions look at. All instants are scenario time in ms; all lists in order of time.

    ``doing``: stretches in force, and ``done``: instants done, of each action, in the ways that
    count (done, simulated). ``settings``: (instant, value); ``faults``: (instant, status).
    ``stays``: (entry, exit) of each stay, the last exit ``NEVER`` while it goes on.
    ``seen``: the first instant at which the team knew each observation.
    ``given``: each dose of each drug.
    ``sensing``: when each observation could be read; ``meaningful``: the least change of each
    setting that counts as one.
    ``arriving``: what the infant gets, as it comes, of settings that arrive late.
    ``cache`` keeps where a curve is as a condition (by ``id``) has it, beside the condition, lest
    another get its ``id``; give one only if the curves are final. ``solved`` keeps it of curves
    that grow, crossing by crossing.
    """

    doing: Mapping[str, Sequence[Interval]]
    done: Mapping[str, Sequence[int]]
    settings: Mapping[str, Sequence[tuple[int, Value]]]
    faults: Mapping[str, Sequence[tuple[int, FaultStatus]]]
    stays: Sequence[Interval]
    curves: Mapping[str, Sequence[Segment]]
    words: Mapping[str, Sequence[tuple[int, str]]]
    supplies: Mapping[str, Sequence[Level]]
    seen: Mapping[str, int]
    clock_ms: int | None = None
    cache: dict[int, tuple[Condition, Truth]] | None = None
    given: Mapping[str, Sequence[DoseGiven]] = field(default_factory=dict)
    sensing: Mapping[str, Sensing] = field(default_factory=dict)
    meaningful: Mapping[str, float] = field(default_factory=dict)
    solved: dict[tuple[str, int], Solved] = field(default_factory=dict)
    arriving: Mapping[str, Sequence[tuple[int, Value]]] = field(default_factory=dict)

    def at_the_infant(self) -> Timeline:
        """Return what the infant's signs go by: each setting as it comes to the infant."""
        if not self.arriving:
            return self
        return replace(self, settings={**self.settings, **self.arriving}, arriving={})


def truth(condition: Condition, timeline: Timeline, start: int, end: int) -> Truth:
    """Return the stretches of [start, end) in which ``condition`` holds.

    ``end`` may be ``NEVER``: then what is known now is taken to go on for ever.
    """
    if start >= end:
        return []
    kind = type(condition)
    if kind is All:
        return _all(condition, timeline, start, end)  # type: ignore[arg-type]
    return _LEAVES[kind](condition, timeline, start, end)  # type: ignore[operator, no-any-return]


def intersect(one: Truth, other: Truth) -> Truth:
    """Return where both hold."""
    out: Truth = []
    i = j = 0
    while i < len(one) and j < len(other):
        start = max(one[i][0], other[j][0])
        end = min(one[i][1], other[j][1])
        if start < end:
            out.append((start, end))
        if one[i][1] < other[j][1]:
            i += 1
        else:
            j += 1
    return out


def unite(one: Truth, other: Truth) -> Truth:
    """Return where either holds; what adjoins is one stretch."""
    if not one:
        return other
    if not other:
        return one
    return joined(sorted([*one, *other]))


def joined(stretches: Sequence[Interval]) -> Truth:
    """Return stretches in order of start as a truth: empty ones dropped, touching ones joined."""
    out: Truth = []
    for start, end in stretches:
        if start >= end:
            continue
        if out and start <= out[-1][1]:
            if end > out[-1][1]:
                out[-1] = (out[-1][0], end)
        else:
            out.append((start, end))
    return out


def complement(one: Truth, start: int, end: int) -> Truth:
    """Return the stretches of [start, end) outside ``one``, which lies within it."""
    out: Truth = []
    at = start
    for begin, stop in one:
        if at < begin:
            out.append((at, begin))
        at = stop
    if at < end:
        out.append((at, end))
    return out


def clipped(one: Sequence[Interval], start: int, end: int) -> Truth:
    """Return the part of ``one`` within [start, end)."""
    out: Truth = []
    for begin, stop in one:
        if stop <= start:
            continue
        if begin >= end:
            break
        out.append((begin if begin > start else start, stop if stop < end else end))
    return out


def _all(condition: All, timeline: Timeline, start: int, end: int) -> Truth:
    out: Truth | None = None
    for part in condition.parts:
        part_truth = truth(part, timeline, start, end)
        out = part_truth if out is None else intersect(out, part_truth)
        if not out:
            return []
    return [(start, end)] if out is None else out


def _any(condition: AnyOf, timeline: Timeline, start: int, end: int) -> Truth:
    out: Truth = []
    for part in condition.parts:
        out = unite(out, truth(part, timeline, start, end))
    return out


def _not(condition: Not, timeline: Timeline, start: int, end: int) -> Truth:
    return complement(truth(condition.part, timeline, start, end), start, end)


def _doing(condition: Doing, timeline: Timeline, start: int, end: int) -> Truth:
    spells = timeline.doing.get(condition.action)
    return joined(clipped(spells, start, end)) if spells else []


def _done(condition: Done, timeline: Timeline, start: int, end: int) -> Truth:
    instants = timeline.done.get(condition.action)
    if not instants:
        return []
    if condition.ever:
        first = instants[0]
        return [(max(first, start), end)] if first < end else []
    out: Truth = []
    for number, (entry, exit_) in enumerate(timeline.stays):
        if exit_ <= start:
            continue
        if entry >= end:
            break
        for instant in instants:
            if instant > entry or (instant == entry and number == 0):
                if max(instant, start) < min(exit_, end):
                    out.append((max(instant, start), min(exit_, end)))
                break
    return joined(out)


def _given(condition: Given, timeline: Timeline, start: int, end: int) -> Truth:
    """In parts, while their sum lies in the range; else from the first dose on that does.

    Where a pace is asked, from the first dose on that has it.
    """
    out: Truth = []
    total = 0.0
    by_route, routes = condition.ranges, condition.routes
    any_route = next(iter(by_route.values()), None)
    for instant, amount, route, over in timeline.given.get(condition.action, ()):
        if routes and route not in routes:
            continue
        if condition.over is not None:
            if over is not None and condition.over.contains(over):
                return clipped([(instant, NEVER)], start, end)
            continue
        wanted = by_route.get(route, any_route) if route is not None else any_route
        total = total + amount if condition.in_parts else amount
        holds = wanted is not None and wanted.contains(total)
        if holds and (not out or out[-1][1] < NEVER):
            out.append((instant, NEVER))
        elif not holds and condition.in_parts and out and out[-1][1] == NEVER:
            out[-1] = (out[-1][0], instant)
    return joined(clipped(out, start, end))


def _setting(condition: SettingIs, timeline: Timeline, start: int, end: int) -> Truth:
    steps = timeline.settings.get(condition.setting)
    return _steps_in(steps, condition.wanted, timeline.clock_ms, start, end) if steps else []


def _observed(condition: Observed, timeline: Timeline, start: int, end: int) -> Truth:
    cache = timeline.cache
    if cache is None or type(condition.wanted) is Steps:
        return _observed_now(condition, timeline, start, end)
    kept = cache.get(id(condition))
    if kept is None:
        holds = _observed_now(condition, timeline, 0, NEVER)
        kept = cache[id(condition)] = (condition, holds)
    return clipped(kept[1], start, end)


def _observed_now(condition: Observed, timeline: Timeline, start: int, end: int) -> Truth:
    segments = timeline.curves.get(condition.observation)
    if segments:
        return _curve_in(timeline, condition.observation, condition.wanted, start, end)
    words = timeline.words.get(condition.observation)
    return _steps_in(words, condition.wanted, timeline.clock_ms, start, end) if words else []


def _seen(condition: Seen, timeline: Timeline, start: int, end: int) -> Truth:
    first = timeline.seen.get(condition.observation, NEVER)
    return [(max(first, start), end)] if first < end else []


def _read(condition: Read, timeline: Timeline, start: int, end: int) -> Truth:
    sensing = timeline.sensing.get(condition.observation)
    if sensing is None:
        return []
    holds = _value_holds(condition, timeline, end)
    pieces = sorted(
        [
            *sensing.streams,
            *((at, at + 1) for at in sensing.snapshots if not sensing.streams_at(at)),
        ]
    )
    out: list[Interval] = []
    for number, (begin, stop) in enumerate(pieces):
        if begin >= end:
            break
        following = pieces[number + 1][0] if number + 1 < len(pieces) else NEVER
        within = condition.within_ms
        old = NEVER if within is None else min(NEVER, stop + within)
        if min(old, following) > start:
            out += clipped(holds, max(begin, start), min(stop, end))
            if stop < end and clipped(holds, stop - 1, stop):
                out.append((stop, min(old, following)))
    return joined(clipped(joined(out), start, end))


def _value_holds(condition: Read, timeline: Timeline, end: int) -> Truth:
    """Where the true value is as a reading is to be, whether anybody reads it or not."""
    cache = timeline.cache
    value = Observed(condition.observation, condition.wanted)
    if cache is None or type(condition.wanted) is Steps:
        return _observed_now(value, timeline, 0, end)
    kept = cache.get(id(condition))
    if kept is None:
        kept = cache[id(condition)] = (condition, _observed_now(value, timeline, 0, NEVER))
    return kept[1]


def _so_far(condition: SoFar, timeline: Timeline, start: int, end: int) -> Truth:
    left = condition.at_least_ms
    for begin, stop in truth(condition.condition, timeline, 0, end):
        if stop - begin >= left:
            return [(max(start, begin + left), end)] if begin + left < end else []
        left -= stop - begin
    return []


def _lately(condition: Lately, timeline: Timeline, start: int, end: int) -> Truth:
    within = condition.within_ms
    inner = truth(condition.condition, timeline, max(0, start - within), end)
    return joined(clipped([(begin, stop + within) for begin, stop in inner], start, end))


def _unless_changed(condition: UnlessChanged, timeline: Timeline, start: int, end: int) -> Truth:
    least = timeline.meaningful.get(condition.setting, 0.0)
    changed: list[Interval] = []
    base: float | None = None
    for at, value in timeline.settings.get(condition.setting, ()):
        if type(value) is str:
            continue
        number = float(value)
        if base is None:
            base = number
            continue
        by = base - number if condition.direction == "lower" else number - base
        if by > 0.0 and by >= least - CLOSE * max(abs(base), abs(number)):
            changed.append((at, at + 1))
            base = number
        elif by < 0.0:
            base = number
    return complement(joined(clipped(changed, start, end)), start, end)


def _supply(condition: SupplyIs, timeline: Timeline, start: int, end: int) -> Truth:
    levels = timeline.supplies.get(condition.supply, ())
    out: Truth = []
    for number in range(_first_at(levels, start), len(levels)):
        level = levels[number]
        until = levels[number + 1].start_ms if number + 1 < len(levels) else NEVER
        if level.start_ms >= end:
            break
        _append(out, level_within(level, condition.wanted), start, min(until, end))
    return out


def _fault(condition: FaultIs, timeline: Timeline, start: int, end: int) -> Truth:
    """``planted``: it is in the equipment; ``found``, ``mended``: since it was last planted."""
    out: list[Interval] = []
    since: int | None = None
    wanted = condition.status
    for at, status in timeline.faults.get(condition.fault, ()):
        holds = since is not None
        if wanted == "planted":
            holds = status == "planted" or (holds and status != "mended")
        elif wanted == "found":
            holds = status != "planted"
        else:
            holds = status == "mended" or (holds and status != "planted")
        if holds and since is None:
            since = at
        elif not holds and since is not None:
            out.append((since, at))
            since = None
    if since is not None:
        out.append((since, NEVER))
    return joined(clipped(out, start, end))


def _clock(condition: ClockIs, timeline: Timeline, start: int, end: int) -> Truth:
    zero = timeline.clock_ms
    if zero is None:
        return []
    wanted = condition.wanted
    begin = zero
    if wanted.low > 0.0:
        begin = zero + (floor(wanted.low) + 1 if wanted.low_open else ceil(wanted.low))
    elif wanted.low == 0.0 and wanted.low_open:
        begin = zero + 1
    stop = NEVER
    if wanted.high < NEVER:
        stop = zero + (ceil(wanted.high) if wanted.high_open else floor(wanted.high) + 1)
    begin, stop = max(begin, start), min(stop, end)
    return [(begin, stop)] if begin < stop else []


def _steps_in(
    steps: Sequence[tuple[int, Value]], wanted: Wanted, zero: int | None, start: int, end: int
) -> Truth:
    """Where a step function, given as (instant, value), is as wanted."""
    if type(wanted) is Steps:
        return joined(
            [
                stretch
                for begin, stop, row in _rows(wanted, zero, start, end)
                for stretch in _steps_in(steps, row, zero, begin, stop)
            ]
        )
    out: Truth = []
    last = len(steps) - 1
    for number, (at, value) in enumerate(steps):
        begin = at if at > start else start
        stop = end
        if number < last and steps[number + 1][0] < end:
            stop = steps[number + 1][0]
        if begin >= stop:
            if at >= end:
                break
            continue
        if is_as_wanted(value, wanted):
            if out and out[-1][1] == begin:
                out[-1] = (out[-1][0], stop)
            else:
                out.append((begin, stop))
    return out


def is_as_wanted(value: Value, wanted: Wanted) -> bool:
    """Whether one value is in a range or among some words; false where the kinds differ."""
    if type(value) is str:
        return type(wanted) is OneOf and value in wanted.words
    return type(wanted) is Range and wanted.contains(value)  # type: ignore[arg-type]


def _curve_in(timeline: Timeline, observation: str, wanted: Wanted, start: int, end: int) -> Truth:
    if type(wanted) is Steps:
        return joined(
            [
                stretch
                for begin, stop, row in _rows(wanted, timeline.clock_ms, start, end)
                for stretch in _curve_in(timeline, observation, row, begin, stop)
            ]
        )
    if type(wanted) is not Range:
        return []
    key = (observation, id(wanted))
    solved = timeline.solved.get(key)
    if solved is None or solved.wanted is not wanted:
        solved = timeline.solved[key] = Solved(wanted)
    return solved.truth(timeline.curves[observation], start, end)


def _rows(wanted: Steps, zero: int | None, start: int, end: int) -> list[tuple[int, int, Range]]:
    """The rows of ``wanted`` as (begin, end, range) within [start, end)."""
    if zero is None:
        return []
    out: list[tuple[int, int, Range]] = []
    for number, (since, row) in enumerate(wanted.rows):
        begin = max(start, zero + since)
        stop = end
        if number + 1 < len(wanted.rows):
            stop = min(end, zero + wanted.rows[number + 1][0])
        if begin < stop:
            out.append((begin, stop, row))
    return out


def _first_at(pieces: Sequence[Segment] | Sequence[Level], start: int) -> int:
    """The number of the piece that is under way at ``start`` (0 before the first)."""
    number = len(pieces) - 1
    while number > 0 and pieces[number].start_ms > start:
        number -= 1
    return max(number, 0)


def _append(out: Truth, stretch: Interval | None, start: int, end: int) -> None:
    """Add the part of ``stretch`` within [start, end), joined to what it touches."""
    if stretch is None:
        return
    begin, stop = max(stretch[0], start), min(stretch[1], end)
    if begin >= stop:
        return
    if out and out[-1][1] == begin:
        out[-1] = (out[-1][0], stop)
    else:
        out.append((begin, stop))


_LEAVES = {
    Doing: _doing,
    Done: _done,
    Given: _given,
    SettingIs: _setting,
    Observed: _observed,
    Seen: _seen,
    Read: _read,
    SoFar: _so_far,
    Lately: _lately,
    UnlessChanged: _unless_changed,
    SupplyIs: _supply,
    FaultIs: _fault,
    ClockIs: _clock,
    All: _all,
    AnyOf: _any,
    Not: _not,
}
