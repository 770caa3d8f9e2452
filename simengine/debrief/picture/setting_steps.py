"""Settings over the session, as steps with their values."""

from __future__ import annotations

from itertools import pairwise

from matplotlib.axes import Axes

from simengine.debrief.lanes import first_free
from simengine.debrief.picture.panel import Frame, Span, side_title
from simengine.debrief.scene import SettingPanel
from simengine.font_metrics import fitted, width
from simengine.report import look
from simengine.report.drawing import LEFT, RIGHT, SIZE, WIDTH, line, write
from simengine.report.look import Box

UNCHANGED = 12.0
_PLATE = "#FFFFFFC8"
_STROKES = (look.BLUE, look.ACCENT, look.VERMILLION, look.GREEN)


def draw_settings(axes: Axes, frame: Frame, panel: SettingPanel, span: Span) -> Axes:
    """Draw settings as steps, each change with its value beside it."""
    values = [value for setting in panel.lines for _, value, _ in setting.points]
    low, high = min(values, default=0.0), max(values, default=1.0)
    rise = high - low or 1.0
    # room for words above the highest line, and above each lower one
    bottom, top = frame.bottom + 4.0, frame.top - 13.0

    def y(value: float) -> float:
        return float(bottom + (value - low) / rise * (top - bottom))

    right = WIDTH - RIGHT
    line(axes, [(LEFT, frame.bottom), (right, frame.bottom)], look.LINE, 0.8, order=0.8)
    side_title(axes, frame, panel.label, panel.unit)
    taken: list[Box] = []
    corners: list[Box] = []
    for number, setting in enumerate(panel.lines):
        points: list[tuple[float, float]] = []
        for index, (start, value, _) in enumerate(setting.points):
            end = setting.points[index + 1][0] if index + 1 < len(setting.points) else span.end
            points += [(span.x(start), y(value)), (span.x(end), y(value))]
        if points:
            line(axes, points, _STROKES[number % len(_STROKES)], 1.7, dashed=number % 2 == 1)
        corners += [
            (min(a[0], b[0]), min(a[1], b[1]) - 1, max(a[0], b[0]), max(a[1], b[1]) + 1)
            for a, b in pairwise(points)
        ]
    for number, setting in enumerate(panel.lines):
        colour = _STROKES[number % len(_STROKES)]
        for index, (start, value, words) in enumerate(setting.points):
            text = f"{setting.label} {words}" if index == 0 and len(panel.lines) > 1 else words
            room = width(text, SIZE)
            # a value that never changes may be told anywhere along its line
            steady = len(setting.points) == 1
            shares = [LEFT + (right - LEFT - room) * part for part in (1.0, 0.5)] if steady else []
            spots = [
                (x0, y0 - 0.24 * SIZE, x0 + room, y0 + 0.76 * SIZE)
                for y0 in (y(value) + 3.5, y(value) - 9.0)
                for x0 in (span.x(start) + 2, span.x(start) - room - 2, *shares)
                if x0 >= LEFT and x0 + room <= right and y0 > frame.bottom + 1
            ]
            spot = first_free(spots, [*taken, *corners]) or first_free(spots, taken)
            if spot is not None:
                taken.append(
                    write(axes, text, spot[0], spot[1] + 0.24 * SIZE, colour=colour, plate=_PLATE)
                )
    return axes


def draw_unchanged(axes: Axes, frame: Frame, words: str) -> Axes:
    """Write the settings that stayed as they were, on one line."""
    foot = frame.top - 8.0
    write(axes, "Unchanged", 2.0, foot, bold=True)
    write(axes, fitted(words, WIDTH - RIGHT - LEFT, SIZE), LEFT, foot, plate=look.CARD)
    return axes
