"""Step curves of the share that has done something by a time, with how many are still waited for.

Rules of this file:

- A curve is told by its dash and its shape, said at its end and in the legend.
- Intervals stand at a few instants, each curve's a little beside the other's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from simengine.cohort_report.picture.scale import SMALL, Scale, across, between, up
from simengine.font_metrics import fitted
from simengine.report import look
from simengine.report.drawing import WIDTH, line, mark, sheet, write
from simengine.report.look import Shape
from simengine.report.printable import clean

SHAPES: tuple[Shape, ...] = ("disc", "square", "triangle up", "diamond")
_LEFT, _RIGHT = 30.0, 10.0
_AXIS = 30.0
_ROW = 10.0


@dataclass(frozen=True, slots=True)
class Seen:
    """The state of a curve at an instant: shares of 1, and how many are still waited for."""

    at_s: float
    share: float
    low: float
    high: float
    waiting: int


@dataclass(frozen=True, slots=True)
class Steps:
    """A curve: ``points`` are (seconds, share done from then on); ``seen`` at the ticks."""

    label: str
    points: tuple[tuple[float, float], ...]
    seen: tuple[Seen, ...]


def draw_steps(
    curves: Sequence[Steps],
    ticks: Sequence[float],
    *,
    limit_s: float | None = None,
    wide: float = WIDTH,
    height: float = 150.0,
) -> Figure:
    """Return the curves as a figure. ``limit_s``: by when the step is asked for, a dashed line."""
    foot = _AXIS + _ROW * (len(curves) + 1)
    head = 16.0 + _ROW * len(curves)
    figure, axes = sheet(height + foot + head, wide)
    top = foot + height
    x = Scale(ticks[0], ticks[-1], _LEFT, wide - _RIGHT)
    y = Scale(0.0, 100.0, foot, top)
    up(axes, y, (0, 25, 50, 75, 100), _LEFT, wide - _RIGHT, "done, %")
    across(axes, x, ticks, foot, top, "time since it was asked (s)")
    if limit_s is not None and limit_s <= ticks[-1]:
        line(axes, [(x(limit_s), foot), (x(limit_s), top)], look.INK, 1.0, dashed=True)
        write(axes, f"latest {limit_s:g} s", x(limit_s) + 3.0, foot + 3.0, size=SMALL,
              plate=look.CARD)  # fmt: skip
    write(axes, "still waited for", 2.0, _ROW * len(curves) + 3.0, size=SMALL, colour=look.SOFT)
    for place, curve in enumerate(curves):
        shape = SHAPES[place % len(SHAPES)]
        path = [(x(0.0), y(0.0))]
        for at, share in curve.points:
            path += [(x(at), path[-1][1]), (x(at), y(100 * share))]
        path.append((x(ticks[-1]), path[-1][1]))
        line(axes, path, look.ACCENT if place == 0 else look.INK, 1.5, dashed=place % 2 == 1)
        aside = 4.0 * (place - (len(curves) - 1) / 2)
        row = _ROW * (len(curves) - 1 - place) + 2.0
        mark(axes, shape, 6.0, row + 3.0, 3.2)
        for seen in curve.seen:
            at = x(seen.at_s)
            if seen.at_s > 0 and seen.waiting > 0:
                between(axes, (at + aside, y(100 * seen.low)), (at + aside, y(100 * seen.high)))
                mark(axes, shape, at + aside, y(100 * seen.share), 3.2)
            write(axes, str(seen.waiting), at, row, size=SMALL, align="centre")
        head_y = top + 16.0 + _ROW * (len(curves) - 1 - place)
        mark(axes, shape, _LEFT + 46.0, head_y + 2.6, 3.2)
        dashed = place % 2 == 1
        line(axes, [(_LEFT + 24.0, head_y + 2.6), (_LEFT + 40.0, head_y + 2.6)],
             look.ACCENT if place == 0 else look.INK, 1.5, dashed=dashed)  # fmt: skip
        label = fitted(clean(curve.label), wide - _LEFT - 60.0, SMALL)
        write(axes, label, _LEFT + 54.0, head_y, size=SMALL)
    return figure
