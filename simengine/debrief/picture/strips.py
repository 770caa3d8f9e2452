"""Stretches of time with a name: states, and words that an observation had."""

from __future__ import annotations

from matplotlib.axes import Axes

from simengine.debrief.lanes import lanes
from simengine.debrief.picture.panel import Frame, Span
from simengine.debrief.scene import Strip
from simengine.font_metrics import width, wrapped
from simengine.report import look
from simengine.report.drawing import LEFT, LINE_HEIGHT, RIGHT, SIZE, WIDTH, area, line, write

_TONES = {"improving": "#F1EDE2", "deteriorating": "#CFC6B0", "stable": "#F8F6F0", None: "#E4DED1"}
_STRIP = 15.0


Outside = dict[int, tuple[float, int]]
"""Index of a band → (left end of its words in points, line below the band, from 0)"""


def _outside(strip: Strip, span: Span) -> Outside:
    """Place the words that do not fit into their own band on lines below it.

    Later bands take the upper lines, so that the stroke from an earlier band down to its own
    words crosses nobody else's.
    """
    places: list[tuple[int, float, float]] = []
    for index, band in enumerate(strip.bands):
        left, right = span.x(band.start), span.x(band.end)
        room = width(band.words, SIZE)
        if room + 6 > right - left:
            place = max(min(left + 3.0, WIDTH - RIGHT - room), LEFT)
            places.append((index, place, place + room))
    levels = lanes([(-right, -left) for _, left, right in places], 8.0)
    return {index: (left, level) for (index, left, _), level in zip(places, levels, strict=True)}


def strip_height(strip: Strip, span: Span) -> float:
    """Return the height in points that a strip takes, words below it included."""
    levels = [level for _, level in _outside(strip, span).values()]
    label = LINE_HEIGHT * (len(wrapped(strip.label, LEFT - 12, SIZE, bold=True)) - 1)
    below = LINE_HEIGHT * (max(levels) + 1) if levels else 0.0
    return _STRIP + max(label, below) + 3.0


def draw_strip(axes: Axes, frame: Frame, strip: Strip, span: Span) -> Axes:
    """Draw adjoining bands with their names; a name too long for its band stands below it."""
    top = frame.top
    bottom = top - _STRIP
    below = _outside(strip, span)
    for number, words in enumerate(wrapped(strip.label, LEFT - 12, SIZE, bold=True)):
        write(axes, words, 2.0, bottom + 4.5 - LINE_HEIGHT * number, bold=True)
    for index, band in enumerate(strip.bands):
        left, right = span.x(band.start), span.x(band.end)
        area(axes, (left, bottom, right, top), _TONES[band.trend], edge=look.CARD)
        if index not in below:
            write(axes, band.words, (left + right) / 2, bottom + 4.5, align="centre")
            continue
        place, level = below[index]
        y = bottom - LINE_HEIGHT * (level + 1) + 2.0
        line(axes, [(left + 0.5, bottom), (left + 0.5, y)], look.SOFT, 0.6, order=0.5)
        write(axes, band.words, place, y, plate=look.CARD)
    return axes
