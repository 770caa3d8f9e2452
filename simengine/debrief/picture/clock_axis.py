"""The clock under the picture, and its marks through all of it."""

from __future__ import annotations

from matplotlib.axes import Axes

from simengine.debrief.lanes import overlap
from simengine.debrief.picture.panel import Frame, Span
from simengine.debrief.scene import Scene
from simengine.font_metrics import fitted, width
from simengine.quantities.formatting import clock
from simengine.report import look
from simengine.report.drawing import LEFT, RIGHT, SIZE, WIDTH, line, write
from simengine.report.look import Box


def draw_axis(axes: Axes, frame: Frame, span: Span, scene: Scene, *, ceiling: float) -> Axes:
    """Draw the clock's marks under the picture and their lines through it."""
    top = frame.top
    line(axes, [(LEFT, top), (WIDTH - RIGHT, top)], look.SOFT, 0.8)
    step = _clock_step(span)
    first = int(-(-span.start // step))
    taken: list[Box] = []
    for number in range(first, int(span.end // step) + 1):
        at = number * step
        x = span.x(at)
        zero = number == 0 and scene.zero is not None
        line(axes, [(x, top), (x, top - 3)], look.SOFT, 0.8)
        line(
            axes,
            [(x, top), (x, ceiling)],
            look.SOFT if zero else "#B9B3A4",
            1.0 if zero else 0.6,
            dotted=not zero,
            order=0.7,
        )
        words = clock(1000 * round(at))
        half = width(words, SIZE) / 2
        place = min(max(x, LEFT + half), WIDTH - RIGHT - half)
        box = (place - half - 2, 0.0, place + half + 2, 1.0)
        if not any(overlap(box, other) for other in taken):
            taken.append(box)
            write(axes, words, place, top - 12.5, align="centre")
    write(
        axes,
        fitted(scene.axis, WIDTH - LEFT - RIGHT, SIZE),
        (LEFT + WIDTH - RIGHT) / 2,
        top - 24.0,
        size=SIZE,
        colour=look.SOFT,
        align="centre",
    )
    return axes


def _clock_step(span: Span) -> float:
    """Return the seconds between clock marks: the fewest of a clock face that leave room."""
    for step in (10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0):
        if (WIDTH - LEFT - RIGHT) * step / (span.end - span.start) >= 34.0:
            return step
    return (span.end - span.start) / 4
