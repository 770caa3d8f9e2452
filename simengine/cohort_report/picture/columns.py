"""Columns: values one after the other (quarters, attempts, months away), each with its interval."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from simengine.cohort_report.picture.scale import SMALL, Scale, between, up
from simengine.font_metrics import fitted
from simengine.report import look
from simengine.report.drawing import WIDTH, line, mark, sheet, write
from simengine.report.printable import clean

_LEFT, _RIGHT = 30.0, 6.0
_FOOT, _HEAD = 36.0, 20.0


@dataclass(frozen=True, slots=True)
class Column:
    """One value; ``None`` where nothing can be said. ``below``: what it rests on (``n 12``)."""

    label: str
    value: float | None
    low: float | None
    high: float | None
    below: str


def draw_columns(
    columns: Sequence[Column],
    ticks: Sequence[float],
    unit: str,
    words: str,
    *,
    wide: float = WIDTH,
    height: float = 130.0,
    curve: Callable[[float], float] | None = None,
    level: float | None = None,
) -> Figure:
    """Return the columns as a figure: ``unit`` names the scale, ``words`` what the columns are.

    ``curve``: a value for each place (1 is the first column), drawn as a dashed line; ``level``:
    a dashed line across.
    """
    figure, axes = sheet(height, wide)
    y = Scale(ticks[0], ticks[-1], _FOOT, height - _HEAD)
    up(axes, y, ticks, _LEFT, wide - _RIGHT, unit)
    room = (wide - _LEFT - _RIGHT) / max(len(columns), 1)

    def x(place: float) -> float:
        return _LEFT + room * (place - 0.5)

    if level is not None:
        line(axes, [(_LEFT, y(level)), (wide - _RIGHT, y(level))], look.INK, 0.9, dashed=True)
    if curve is not None and len(columns) > 1:
        steps = 8 * (len(columns) - 1)
        places = [1.0 + (len(columns) - 1) * step / steps for step in range(steps + 1)]
        line(axes, [(x(at), y(curve(at))) for at in places], look.ACCENT, 1.3, dashed=True)
    for place, column in enumerate(columns, start=1):
        if column.low is not None and column.high is not None:
            between(axes, (x(place), y(column.low)), (x(place), y(column.high)))
        if column.value is not None:
            mark(axes, "disc", x(place), y(column.value))
        label = fitted(clean(column.label), room - 1.0, SMALL)
        write(axes, label, x(place), _FOOT - 10.0, size=SMALL, align="centre")
        below = fitted(column.below, room - 1.0, SMALL)
        write(axes, below, x(place), _FOOT - 19.0, size=SMALL, align="centre", colour=look.SOFT)
    write(
        axes, words, (_LEFT + wide - _RIGHT) / 2, 4.0, size=SMALL, align="centre", colour=look.SOFT
    )
    return figure
