"""Draw one trainee's sessions side by side: a dot each for team and own share.

Rules of this file: as in ``picture``; shapes tell team from own, and no line joins the dots.
"""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simengine.debrief.trend import Held
from simengine.font_metrics import fitted, width
from simengine.quantities.formatting import percent
from simengine.report import look
from simengine.report.drawing import LEFT, RIGHT, WIDTH, line, mark, sheet, write
from simengine.report.printable import clean

HEIGHT = 150.0
_FOOT, _HEAD = 32.0, 20.0


def draw_trend(points: Sequence[Held]) -> Figure:
    """Return the trend as a figure, 510 points wide."""
    figure, axes = sheet(HEIGHT)
    draw_points(axes, points)
    return figure


def draw_points(axes: Axes, points: Sequence[Held]) -> Axes:
    """Draw team and own share of each session from 0 to 100 %."""

    def y(share: float) -> float:
        return _FOOT + share * (HEIGHT - _FOOT - _HEAD)

    for share in (0.0, 0.5, 1.0):
        line(axes, [(LEFT, y(share)), (WIDTH - RIGHT, y(share))], look.LINE, 0.8)
        write(axes, percent(share), LEFT - 5, y(share) - 2.8, align="right")
    top = HEIGHT - 10
    mark(axes, "square", LEFT + 6, top)
    box = write(axes, "team, with its 90 % interval", LEFT + 14, top - 2.8)
    mark(axes, "disc", box[2] + 18, top)
    write(axes, "own items", box[2] + 26, top - 2.8)
    room = (WIDTH - LEFT - RIGHT) / max(len(points), 1)
    for number, point in enumerate(points):
        x = LEFT + room * (number + 0.5)
        if point.interval is not None:
            low, high = point.interval
            line(axes, [(x - 5, y(low)), (x - 5, y(high))], look.INK, 1.4)
        if point.total is not None:
            mark(axes, "square", x - 5, y(point.total))
        if point.own is not None:
            mark(axes, "disc", x + 5, y(point.own))
        label = clean(f"{number + 1}. {point.date}")
        if width(label, 8.0) > room - 4:
            label = str(number + 1)
        write(axes, fitted(label, max(room - 2, 8), 8.0), x, 12.0, align="centre")
    return axes
