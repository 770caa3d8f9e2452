"""What each shape and line of the picture means."""

from __future__ import annotations

from matplotlib.axes import Axes

from simengine.debrief.picture.panel import Frame, reading_dot
from simengine.debrief.scene import Scene
from simengine.font_metrics import width
from simengine.report import look
from simengine.report.drawing import MARK, MARKS, SIZE, WIDTH, line, mark, write

LegendPart = tuple[str, str]
"""(shape, or ``solid``/``dashed``/``reading``/``target``; words)"""


def legend_lines(scene: Scene) -> list[list[LegendPart]]:
    """Return what the scene uses, in lines that fit the page's width."""
    parts: list[LegendPart] = [(sign.shape, sign.word) for sign in scene.signs]
    pieces = [piece for curve in scene.curves for piece in curve.pieces]
    if any(piece.known for piece in pieces):
        parts.append(("solid", "the team could read it"))
    if any(not piece.known for piece in pieces):
        parts.append(("dashed", "the team could not know"))
    if any(curve.readings for curve in scene.curves):
        parts.append(("reading", "a single reading"))
    lines: list[list[LegendPart]] = [[]]
    used = 0.0
    for part in parts:
        room = 26.0 + width(part[1], SIZE) + 8.0
        if used + room > WIDTH and lines[-1]:
            lines.append([])
            used = 0.0
        lines[-1].append(part)
        used += room
    return lines


def legend_height(legend: list[list[LegendPart]]) -> float:
    """Return the height in points that the legend takes."""
    return 13.0 * len(legend) + 4.0


def draw_legend(axes: Axes, frame: Frame, legend: list[list[LegendPart]]) -> Axes:
    """Draw what each shape and line means."""
    y = frame.top - 9.0
    for parts in legend:
        x = 2.0
        for what, words in parts:
            middle = y + 2.8
            if what in MARKS:
                mark(axes, what, x + MARK, middle)
                left = x + 2 * MARK + 4
            else:
                _sample(axes, what, x, middle)
                left = x + 22
            box = write(axes, words, left, y)
            x = box[2] + 12.0
        y -= 13.0
    return axes


def _sample(axes: Axes, what: str, x: float, y: float) -> None:
    if what == "reading":
        reading_dot(axes, x + 9, y)
        return
    line(axes, [(x, y), (x + 18, y)], look.INK, 1.6, dashed=what == "dashed")
