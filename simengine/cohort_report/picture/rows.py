"""Rows: a name, a value with its interval on one scale, and how many it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from simengine.cohort_report.picture.scale import SMALL, Scale, across, between
from simengine.font_metrics import wrapped
from simengine.report import look
from simengine.report.drawing import SIZE, WIDTH, line, mark, sheet, write
from simengine.report.look import Shape
from simengine.report.printable import clean

_FOOT, _HEAD = 26.0, 4.0
_LINE = 9.5
_GAP = 5.0


@dataclass(frozen=True, slots=True)
class Row:
    """``value``, ``low`` and ``high`` on the scale, ``None`` where nothing can be said.

    ``beside``: a few words at the right, such as ``12 of 30``.
    """

    label: str
    value: float | None
    low: float | None
    high: float | None
    beside: str
    shape: Shape = "disc"


def draw_rows(
    rows: Sequence[Row],
    ticks: Sequence[float],
    words: str,
    *,
    wide: float = WIDTH,
    beside: str = "",
    mean: float | None = None,
) -> Figure:
    """Return the rows as a figure. ``beside`` heads the words at the right; ``mean``: a dashed
    line to compare with.
    """
    left = 0.46 * wide if wide < WIDTH else 0.4 * wide
    right = wide - (44.0 if wide < WIDTH else 62.0)
    labels = [_label(row.label, left - 12.0) for row in rows]
    heights = [max(len(lines) * _LINE, _LINE) + _GAP for lines in labels]
    head = _HEAD + (_LINE if beside else 0.0)
    top = _FOOT + sum(heights)
    figure, axes = sheet(top + head, wide)
    x = Scale(ticks[0], ticks[-1], left, right - 8.0)
    across(axes, x, ticks, _FOOT, top, words)
    if beside:
        write(axes, beside, wide - 2.0, top + 2.0, size=SMALL, align="right", colour=look.SOFT)
    if mean is not None:
        line(axes, [(x(mean), _FOOT), (x(mean), top)], look.INK, 0.9, dashed=True, order=2)
    for row, lines, height in zip(rows, labels, heights, strict=True):
        middle = top - height / 2
        at = middle + (len(lines) - 1) * _LINE / 2 - 2.6
        for words_ in lines:
            write(axes, words_, 2.0, at, size=SIZE)
            at -= _LINE
        if row.low is not None and row.high is not None:
            between(axes, (x(row.low), middle), (x(row.high), middle))
        if row.value is not None:
            mark(axes, row.shape, x(row.value), middle)
        write(axes, row.beside, wide - 2.0, middle - 2.6, size=SMALL, align="right")
        top -= height
    return figure


def _label(text: str, room: float) -> list[str]:
    lines = wrapped(clean(text), room, SIZE)
    if len(lines) <= 2:
        return lines
    from simengine.font_metrics import fitted

    return [lines[0], fitted(" ".join(lines[1:]), room, SIZE)]
