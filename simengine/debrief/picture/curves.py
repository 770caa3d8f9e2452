"""One observation over the session: what was true, what could be read, limits and target."""

from __future__ import annotations

from collections.abc import Callable

from matplotlib.axes import Axes

from simengine.debrief.lanes import first_free
from simengine.debrief.picture.panel import Frame, Span, reading_dot, side_title
from simengine.debrief.scene import Curve
from simengine.font_metrics import width
from simengine.report import look
from simengine.report.drawing import LEFT, RIGHT, SIZE, WIDTH, area, line, write
from simengine.report.look import Box

_PLATE = "#FFFFFFC8"
"""Ground behind words in a panel: lines show through it, and the words can be read."""


def _limits(curve: Curve) -> tuple[float, float]:
    values = [value for piece in curve.pieces for value in piece.values]
    values += [value for _, value in (*curve.readings, *curve.other)]
    for threshold in curve.thresholds:
        values += [end for end in (threshold.low, threshold.high) if end is not None]
    for step in curve.target.steps if curve.target else ():
        values += [end for end in (step.low, step.high) if end is not None]
    low, high = min(values, default=0.0), max(values, default=1.0)
    # a span of ten steps of the last figure at least, so that next to nothing looks like it
    least = 10.0 * 10.0**-curve.decimals
    pad = max(0.12 * (high - low), (least - (high - low)) / 2)
    return low - pad, high + pad


def draw_curve(axes: Axes, frame: Frame, curve: Curve, span: Span) -> Axes:
    """Draw an observation: what was true, what the team could read, thresholds and target."""
    low, high = _limits(curve)
    bottom, top = frame.bottom, frame.top

    def y(value: float) -> float:
        return float(bottom + (value - low) / (high - low) * (top - bottom))

    left, right = LEFT, WIDTH - RIGHT
    line(axes, [(left, bottom), (right, bottom)], look.LINE, 0.8, order=0.8)
    side_title(axes, frame, curve.label, curve.unit)
    taken: list[Box] = []
    path = [
        (span.x(time), y(value))
        for piece in curve.pieces
        for time, value in zip(piece.times, piece.values, strict=True)
    ]
    limits: list[Box] = []
    words_later: list[tuple[str, float, str]] = []
    for threshold in curve.thresholds:
        ends = [end for end in (threshold.low, threshold.high) if end is not None]
        upper = y(threshold.high) if threshold.high is not None else top
        lower = y(threshold.low) if threshold.low is not None else bottom
        if threshold.high is not None:
            area(axes, (left, lower, right, upper), "#1B273310", order=0.4)
        for end in ends:
            line(axes, [(left, y(end)), (right, y(end))], look.SOFT, 0.7, dashed=True, order=1)
            limits.append((left, y(end) - 0.5, right, y(end) + 0.5))
        edge = upper - 9.5 if threshold.high is not None else lower + 3.5
        words_later.append((threshold.words, edge, look.SOFT))
    if curve.target:
        for step in curve.target.steps:
            _target_step(axes, step.start, step.end, step.low, step.high, span, y, top, bottom)
    for piece in curve.pieces:
        points = [
            (span.x(time), y(value)) for time, value in zip(piece.times, piece.values, strict=True)
        ]
        if len(points) > 1:
            line(
                axes,
                points,
                look.ACCENT if piece.known else look.SOFT,
                1.9 if piece.known else 1.2,
                dashed=not piece.known,
            )
    other = [(span.x(time), y(value)) for time, value in curve.other]
    if len(other) > 1:
        line(axes, other, look.INK, 0.6, order=1.5)
    path += other
    for time, value in curve.readings:
        x_dot, y_dot = span.x(time), y(value)
        reading_dot(axes, x_dot, y_dot)
        taken.append((x_dot - 3, y_dot - 3, x_dot + 3, y_dot + 3))
    curve_boxes = [(x - 1.5, yy - 1.5, x + 1.5, yy + 1.5) for x, yy in path]
    curve_boxes += limits
    for words, edge, colour in words_later:
        _find_room(axes, frame, words, edge, colour, taken, curve_boxes, must=True)
    if curve.target and curve.target.steps:
        last = curve.target.steps[-1]
        lower_end = last.low if last.low is not None else last.high
        edge = y(lower_end) - 9.5 if lower_end is not None else bottom + 4
        _find_room(axes, frame, curve.target.words, edge, look.BLUE, taken, curve_boxes, must=True)
    for time, words in curve.notes:
        room = width(words, SIZE)
        spots = [
            (x0, y0 - 0.24 * SIZE, x0 + room, y0 + 0.76 * SIZE)
            for y0 in (top - 9, top - 20, bottom + 4, bottom + 15, (top + bottom) / 2)
            for x0 in (span.x(time) + 3, span.x(time) - room - 3)
            if x0 >= left and x0 + room <= right
        ]
        spot = first_free(spots, [*taken, *curve_boxes])
        if spot:
            x_note = span.x(time)
            line(axes, [(x_note, bottom), (x_note, top)], look.SOFT, 0.6, dotted=True, order=0.9)
            taken.append(
                write(axes, words, spot[0], spot[1] + 0.24 * SIZE, colour=look.SOFT, plate=_PLATE)
            )
    _value_marks(axes, curve, y, bottom, top)
    return axes


def _target_step(
    axes: Axes,
    start: float,
    end: float,
    low: float | None,
    high: float | None,
    span: Span,
    y: Callable[[float], float],
    top: float,
    bottom: float,
) -> None:
    x0, x1 = span.x(max(start, span.start)), span.x(min(end, span.end))
    if x1 <= x0:
        return
    # an open end is a line with a narrow band on the side that is wanted
    if low is None and high is None:
        return
    upper = y(high) if high is not None else min(y(low or 0.0) + 5.0, top)
    lower = y(low) if low is not None else max(y(high or 0.0) - 5.0, bottom)
    area(axes, (x0, lower, x1, upper), "#0072B226", order=0.6)
    for value in (low, high):
        if value is not None:
            line(axes, [(x0, y(value)), (x1, y(value))], look.BLUE, 1.3, order=1.2)


def _find_room(
    axes: Axes,
    frame: Frame,
    words: str,
    y: float,
    colour: str,
    taken: list[Box],
    curve: list[Box],
    *,
    must: bool,
) -> None:
    """Write words near a height where neither words nor, if it can be, the curve stand."""
    room = width(words, SIZE)
    left, right = LEFT + 3, WIDTH - RIGHT - 3 - room
    places = [right, left, *(left + (right - left) * share for share in (0.75, 0.5, 0.25))]
    heights = [y, y + 11.5, y - 11.5, y + 23, y - 23]
    inside = [h for h in heights if frame.bottom + 1 <= h <= frame.top - 6] or [y]

    def box(x: float, height: float) -> Box:
        return (x, height - 0.24 * SIZE, x + room, height + 0.76 * SIZE)

    near = [box(x, inside[0]) for x in places]
    every = [box(x, height) for height in inside for x in places]
    spot = first_free(near, [*taken, *curve]) or first_free(every, [*taken, *curve])
    if spot is None and must:
        spot = first_free(every, taken)
    if spot is not None:
        taken.append(
            write(axes, words, spot[0], spot[1] + 0.24 * SIZE, colour=colour, plate=_PLATE)
        )


def _value_marks(
    axes: Axes, curve: Curve, y: Callable[[float], float], bottom: float, top: float
) -> None:
    """Write the thresholds' values and round values in the margin, none nearer than a line."""
    low, high = _limits(curve)
    wanted = [
        end
        for threshold in curve.thresholds
        for end in (threshold.low, threshold.high)
        if end is not None
    ]
    step = _round_step((high - low) / 4)
    first = int(low // step) + 1
    wanted += [step * number for number in range(first, int(high // step) + 1)]
    used: list[float] = []
    for value in wanted:
        place = y(value)
        if not bottom + 3 <= place <= top - 3 or any(abs(place - other) < 11 for other in used):
            continue
        used.append(place)
        write(axes, f"{value:g}", LEFT - 5, place - 2.8, colour=look.SOFT, align="right")


def _round_step(rough: float) -> float:
    """Return 1, 2, 2.5 or 5 times a power of ten, the first not below ``rough``."""
    power = 10.0 ** (len(str(int(rough))) - 1) if rough >= 1 else 10.0 ** -len(str(int(1 / rough)))
    return next(step * power for step in (1, 2, 2.5, 5, 10, 20) if step * power >= rough)
