"""Curves and supplies between events, in closed form.

Rules of this file:

- A moving curve never reaches its target. Where the double nearest to its value is the target
  itself, the neighbouring double on the near side is given.
- A crossing is solved, not sampled. An instant is rounded up to the whole millisecond at which
  the value has come to a closed end, or has passed an open one. Rounding forgives a nanosecond,
  so that 2 700 000.000 000 000 5 ms is 2 700 000 ms.
- A level within 1e-9 of its size of a curve's target is at the target, and so is not reached.
- A supply does reach zero, and stays there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, exp, floor, inf, log, nextafter

from simengine.quantities import Range
from simengine.quantities.ranges import CLOSE
from simengine.scenario.model import Adjust, AnyAdjust, Course, Limit, Shift
from simengine.scenario.wanted import Value
from simengine.session.record import LN20, NEVER, Interval, Level, Segment

_NANOSECOND = 1e-6
"""A nanosecond in ms."""


def value_at(segment: Segment, at_ms: float) -> float:
    """Return the value of ``segment`` at an instant at or after its start."""
    tau = segment.tau_ms
    value, target = segment.value, segment.target
    if tau is None or value == target:
        return value
    gap = (value - target) * exp((segment.start_ms - at_ms) / tau)
    now = target + gap
    return nextafter(target, value) if now == target else now


def curve_at(segments: Sequence[Segment], at_ms: float) -> float | None:
    """Return the value of a whole curve at an instant; ``None`` before it starts."""
    for segment in reversed(segments):
        if segment.start_ms <= at_ms:
            return value_at(segment, at_ms)
    return None


def target_of(course: Course, settings: Mapping[str, Value], holding: Sequence[AnyAdjust]) -> float:
    """Return the target of ``course`` under the settings now in force.

    ``holding``: those of its shifts whose condition holds, in order. First all shifts are added
    up, then what limits the target does so.
    """
    target = course.to
    low, high = -inf, inf
    for adjust in holding:
        if isinstance(adjust, Adjust):
            target += _shift(adjust, settings.get(adjust.setting))
        elif isinstance(adjust, Shift):
            target += adjust.by
        elif isinstance(adjust, Limit):
            low, high = max(low, adjust.low), min(high, adjust.high)
    return max(low, min(high, target))


def _shift(adjust: Adjust, value: Value | None) -> float:
    if value is None or isinstance(value, str):
        return 0.0
    beyond = value - adjust.reference if adjust.side == "above" else adjust.reference - value
    return beyond / adjust.per * adjust.by if beyond > 0.0 else 0.0


def entered(course: Course, at_ms: int, before: float | None, target: float) -> Segment:
    """Return the segment that a state's ``course`` begins, ``before`` being the value till then."""
    if course.within_ms is None:
        return Segment(at_ms, target, target, None)
    value = course.start if course.start is not None else before
    if value is None:
        value = target
    return Segment(at_ms, value, target, course.within_ms / LN20)


def bent(segment: Segment, at_ms: int, target: float) -> Segment:
    """Return ``segment`` going on to another target from its present value, as quickly."""
    if segment.tau_ms is None:
        return Segment(at_ms, target, target, None)
    return Segment(at_ms, value_at(segment, at_ms), target, segment.tau_ms)


def curve_within(segment: Segment, wanted: Range) -> Interval | None:
    """Return the [start, end) in which ``segment``, if it went on for ever, lies in ``wanted``."""
    start = segment.start_ms
    value, target = segment.value, segment.target
    if segment.tau_ms is None or value == target:
        return (start, NEVER) if wanted.contains(value) else None
    if target > value:
        begin = _arrival(segment, wanted.low, strict=wanted.low_open)
        end = _arrival(segment, wanted.high, strict=not wanted.high_open)
    else:
        begin = _arrival(segment, wanted.high, strict=wanted.high_open)
        end = _arrival(segment, wanted.low, strict=not wanted.low_open)
    return (begin, end) if begin < end else None


def _arrival(segment: Segment, level: float, *, strict: bool) -> int:
    """The first ms at which the value has come to ``level`` (``strict``: has passed it)."""
    value, target = segment.value, segment.target
    tau = segment.tau_ms
    assert tau is not None
    up = target > value
    to_go = level - value if up else value - level
    beyond = target - level if up else level - target
    slack = CLOSE * abs(level) if -1e300 < level < 1e300 else 0.0
    if to_go < -slack:
        return segment.start_ms
    if beyond <= slack:
        return NEVER
    if to_go <= slack:
        return segment.start_ms + 1 if strict else segment.start_ms
    after = tau * log((value - target) / (level - target))
    return segment.start_ms + _up(after, strict=strict)


def _up(after: float, *, strict: bool) -> int:
    if after >= NEVER:
        return NEVER
    return floor(after + _NANOSECOND) + 1 if strict else max(0, ceil(after - _NANOSECOND))


def level_at(level: Level, at_ms: float) -> float:
    """Return a supply's contents at an instant at or after the start of ``level``."""
    return max(0.0, level.contents - level.rate_per_ms * (at_ms - level.start_ms))


def supply_at(levels: Sequence[Level], at_ms: float) -> float | None:
    """Return a supply's contents at an instant; ``None`` before its first level."""
    for level in reversed(levels):
        if level.start_ms <= at_ms:
            return level_at(level, at_ms)
    return None


def empty_at(level: Level) -> int:
    """Return the first ms at which a supply has nothing left; ``NEVER`` if it lasts."""
    return _fall(level, 0.0, strict=False)


def level_within(level: Level, wanted: Range) -> Interval | None:
    """Return the [start, end) in which ``level``, if it went on for ever, lies in ``wanted``."""
    begin = _fall(level, wanted.high, strict=wanted.high_open)
    end = _fall(level, wanted.low, strict=not wanted.low_open)
    return (begin, end) if begin < end else None


def _fall(level: Level, to: float, *, strict: bool) -> int:
    """The first ms at which the contents have come down to ``to`` (``strict``: below it)."""
    slack = CLOSE * abs(to) if -1e300 < to < 1e300 else 0.0
    to_go = level.contents - to
    if to_go < -slack or (to_go <= slack and not strict):
        return level.start_ms
    if level.rate_per_ms <= 0.0 or to < 0.0 or (strict and to == 0.0):
        return NEVER
    return level.start_ms + _up(max(0.0, to_go) / level.rate_per_ms, strict=strict)
