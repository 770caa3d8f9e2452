"""What every panel of a session's picture shares: the time axis, its frame, its name."""

from __future__ import annotations

from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.patches import PathPatch
from matplotlib.transforms import Affine2D

from simengine.font_metrics import wrapped
from simengine.report import look
from simengine.report.drawing import DISC, LEFT, LINE_HEIGHT, RIGHT, SIZE, WIDTH, add, write


@dataclass(frozen=True, slots=True)
class Span:
    """The time axis: seconds from ``start`` to ``end`` between the margins, in points."""

    start: float
    end: float

    def x(self, seconds: float) -> float:
        """Return the place of an instant in points from the figure's left edge."""
        share = (seconds - self.start) / (self.end - self.start)
        return LEFT + share * (WIDTH - RIGHT - LEFT)


@dataclass(frozen=True, slots=True)
class Frame:
    """The part of the figure, from ``bottom`` to ``top`` in points, that a panel may use."""

    bottom: float
    top: float


def reading_dot(axes: Axes, x: float, y: float) -> None:
    """Draw a single reading, its centre at (x, y)."""
    add(
        axes,
        PathPatch(
            DISC,
            transform=Affine2D().scale(3.6).translate(x, y) + axes.transData,
            facecolor=look.CARD,
            edgecolor=look.ACCENT,
            linewidth=1.5,
            clip_on=False,
            zorder=5,
        ),
    )


def side_title(axes: Axes, frame: Frame, label: str, unit: str = "") -> Axes:
    """Write a panel's name in the left margin, from its top down."""
    y = frame.top - 8.0
    for words in wrapped(label, LEFT - 34.0, SIZE, bold=True):
        write(axes, words, 2.0, y, bold=True)
        y -= LINE_HEIGHT
    if unit:
        write(axes, unit, 2.0, y, colour=look.SOFT)
    return axes
