"""Scales with their ticks: how a value becomes a place on the paper.

Rules of this file:

- Sizes are points. A value beyond a scale's ends is drawn at the end.
- Every axis says its unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from matplotlib.axes import Axes

from simengine.report import look
from simengine.report.drawing import SIZE, line, write

HALF = 245.0
"""The width of a figure that has another beside it."""
SMALL = 7.5


@dataclass(frozen=True, slots=True)
class Scale:
    """``low`` is drawn at ``start``, ``high`` at ``end``."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)


def ticks_to(most: float, wanted: int = 5) -> tuple[float, ...]:
    """Return round ticks from 0 to at least ``most``: steps of 1, 2 or 5 times a power of ten."""
    if most <= 0:
        return (0.0, 1.0)
    rough = most / wanted
    power = 10.0 ** floor(log10(rough))
    step = next(step for step in (1, 2, 5, 10) if step * power >= rough - 1e-9) * power
    return tuple(step * number for number in range(ceil(most / step - 1e-9) + 1))


def across(
    axes: Axes, scale: Scale, ticks: Sequence[float], foot: float, top: float, words: str
) -> None:
    """Draw a horizontal axis at ``foot``, with hair lines up to ``top`` and its name below."""
    for tick in ticks:
        line(axes, [(scale(tick), foot), (scale(tick), top)], look.LINE, 0.6, order=1)
        write(axes, f"{tick:g}", scale(tick), foot - 9.5, size=SMALL, align="centre")
    write(
        axes, words, (scale.start + scale.end) / 2, foot - 20.0, size=SMALL, align="centre",
        colour=look.SOFT,
    )  # fmt: skip


def up(
    axes: Axes, scale: Scale, ticks: Sequence[float], left: float, right: float, words: str
) -> None:
    """Draw a vertical axis at ``left``, with hair lines to ``right`` and its name above it."""
    for tick in ticks:
        line(axes, [(left, scale(tick)), (right, scale(tick))], look.LINE, 0.6, order=1)
        write(axes, f"{tick:g}", left - 4.0, scale(tick) - 2.6, size=SMALL, align="right")
    write(axes, words, 2.0, scale.end + 7.0, size=SMALL, colour=look.SOFT)


def between(axes: Axes, one: tuple[float, float], other: tuple[float, float]) -> None:
    """Draw an interval: a line with a stroke across at each end."""
    (x1, y1), (x2, y2) = one, other
    line(axes, [one, other], look.INK, 1.1)
    flat = abs(x2 - x1) > abs(y2 - y1)
    dx, dy = (0.0, 2.2) if flat else (2.2, 0.0)
    for x, y in (one, other):
        line(axes, [(x - dx, y - dy), (x + dx, y + dy)], look.INK, 1.1)


__all__ = ["HALF", "SIZE", "SMALL", "Scale", "across", "between", "ticks_to", "up"]
