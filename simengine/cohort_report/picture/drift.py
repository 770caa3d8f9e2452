"""A cumulative sum for each unit, session by session, and the limit at which it signals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from simengine.cohort_report.picture.scale import SMALL, Scale, ticks_to
from simengine.font_metrics import wrapped
from simengine.report import look
from simengine.report.drawing import LEFT, RIGHT, SIZE, WIDTH, line, mark, sheet, write
from simengine.report.printable import clean

_PANEL = 62.0
_GAP = 19.0
_FOOT = 32.0


@dataclass(frozen=True, slots=True)
class Drift:
    """A unit's sums, one for each session, at which of them (from 0) the limit was crossed, and it.

    ``first`` and ``last``: the days of the first and last session, in words.
    """

    label: str
    sums: tuple[float, ...]
    signals: tuple[int, ...]
    limit: float
    first: str
    last: str


def draw_drift(units: Sequence[Drift], *, wide: float = WIDTH) -> Figure:
    """Return a panel for each unit, all on one scale."""
    height = (_PANEL + _GAP) * len(units) + _FOOT
    figure, axes = sheet(height, wide)
    most = max([*(unit.limit for unit in units), *(value for unit in units for value in unit.sums)])
    ticks = ticks_to(most, 3)
    top = height - _GAP
    for unit in units:
        y = Scale(0.0, ticks[-1], top - _PANEL, top)
        x = Scale(0.0, max(len(unit.sums), 1), LEFT, wide - RIGHT)
        for tick in ticks:
            line(axes, [(LEFT, y(tick)), (wide - RIGHT, y(tick))], look.LINE, 0.6, order=1)
            write(axes, f"{tick:g}", LEFT - 4.0, y(tick) - 2.6, size=SMALL, align="right")
        at = top - 8.0
        for words in wrapped(clean(unit.label), LEFT - 24.0, SIZE, bold=True)[:3]:
            write(axes, words, 2.0, at, bold=True)
            at -= 10.0
        write(axes, f"{len(unit.sums)} sessions", 2.0, at, size=SMALL, colour=look.SOFT)
        level = y(unit.limit)
        line(axes, [(LEFT, level), (wide - RIGHT, level)], look.INK, 1.0, dashed=True)
        write(axes, f"limit {unit.limit:.2f}", LEFT + 4.0, level + 2.5, size=SMALL, plate=look.CARD)
        path = [(x(0.0), y(0.0))]
        for place, value in enumerate(unit.sums, start=1):
            path.append((x(place), y(value)))
        line(axes, path, look.ACCENT, 1.4)
        for place in unit.signals:
            mark(axes, "triangle up", x(place + 1), y(unit.sums[place]), 4.0)
        write(axes, unit.first, LEFT, y(0.0) - 9.0, size=SMALL, colour=look.SOFT)
        write(axes, unit.last, wide - RIGHT, y(0.0) - 9.0, size=SMALL, align="right",
              colour=look.SOFT)  # fmt: skip
        top -= _PANEL + _GAP
    line(axes, [(LEFT, 6.6), (LEFT + 18.0, 6.6)], look.INK, 1.0, dashed=True)
    box = write(axes, "limit", LEFT + 22.0, 4.0, size=SMALL)
    mark(axes, "triangle up", box[2] + 16.0, 6.6, 4.0)
    write(axes, "crosses the limit", box[2] + 24.0, 4.0, size=SMALL)
    return figure
