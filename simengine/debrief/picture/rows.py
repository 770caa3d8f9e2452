"""What was done, by phase: a mark for each, with its words beside it."""

from __future__ import annotations

from matplotlib.axes import Axes

from simengine.debrief.lanes import Spot, pack, spots
from simengine.debrief.picture.panel import Frame, Span
from simengine.debrief.scene import Row
from simengine.font_metrics import fitted, width, wrapped
from simengine.report import look
from simengine.report.drawing import LEFT, LINE_HEIGHT, MARK, RIGHT, SIZE, WIDTH, area, mark, write

LANE = 11.8


Place = tuple[int, Spot]
"""(lane counted from the top, where the words stand)"""


def places_of(row: Row, span: Span) -> list[Place]:
    """Place each entry's words so that no two of a lane overlap."""
    choices = []
    for entry in row.entries:
        first = span.x(entry.start)
        last = span.x(entry.again[-1]) if entry.again else first
        choices.append(
            spots(
                first,
                last,
                first if entry.end is None else span.x(entry.end),
                entry.words,
                lambda text: width(text, SIZE),
                lambda text, room: fitted(text, room, SIZE),
                mark=MARK,
                low=LEFT,
                high=WIDTH - RIGHT,
            )
        )
    return pack(choices, 6.0)


def row_height(places: list[Place]) -> float:
    """Return the height in points that a row takes."""
    return LANE * (max((lane for lane, _ in places), default=0) + 1) + 5.0


def draw_row(
    axes: Axes, frame: Frame, row: Row, places: list[Place], span: Span, *, shaded: bool
) -> Axes:
    """Draw the marks of one phase, each with its words beside it, bars for what lasted."""
    top = frame.top - 2.5
    if shaded:
        area(axes, (0.0, frame.bottom, WIDTH, frame.top), look.GROUND, order=0.1)
    for index, words in enumerate(wrapped(row.label, LEFT - 12, SIZE, bold=True)):
        if index * LINE_HEIGHT + 10 < frame.top - frame.bottom:
            write(axes, words, 2.0, top - 9.0 - index * LINE_HEIGHT, bold=True)
    for entry, (lane, spot) in zip(row.entries, places, strict=True):
        middle = top - LANE * (lane + 0.5)
        x = span.x(entry.start)
        if entry.bar and entry.end is not None:
            area(
                axes,
                (x, middle - 5.0, max(span.x(entry.end), x + 1), middle + 5.0),
                look.WASH,
                edge=look.ACCENT,
                order=2,
            )
        for instant in (entry.start, *entry.again):
            mark(axes, entry.sign.shape, span.x(instant), middle)
        plate = None if entry.bar else look.GROUND if shaded else look.CARD
        write(axes, spot.text, spot.words, middle - 2.8, plate=plate)
    return axes
