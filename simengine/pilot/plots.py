"""The plots of a pilot: small functions that take axes and draw one thing.

Rules of this file:

- A level is told by its shape and its name, never by colour alone.
- Places are points from the figure's lower left corner, as in the debrief's picture.
- Every axis has its unit. What the marking guide asks stands in the plot as a line with its word.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from io import BytesIO
from math import ceil

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from simengine.font_metrics import fitted, width
from simengine.pilot.findings import Findings, ItemFound, KeyTime, LevelFound
from simengine.pilot.pilot_sentences import say
from simengine.pilot.statistics import Spread
from simengine.quantities.formatting import percent
from simengine.report import look
from simengine.report.drawing import WIDTH, line, mark, sheet, write
from simengine.report.look import Shape
from simengine.report.printable import clean

SHAPES: tuple[Shape, ...] = ("triangle down", "diamond", "square", "triangle up", "disc")

_LEFT, _RIGHT = 190.0, 14.0
_SIZE = 8.0
_HEAD, _FOOT = 24.0, 30.0
_LEVEL_ROW = 34.0
_ITEM_ROW = 15.0
_TIME_ROW = 38.0


def shape_of(place: int, levels: int) -> Shape:
    """Return the shape of a level: the steady one is always the disc."""
    return "disc" if place == levels - 1 else SHAPES[place % (len(SHAPES) - 1)]


def draw_totals(found: Findings, pass_mark: float | None) -> Figure:
    """Return the totals of all teams, level by level, and of the teams to compare with."""
    head = 4.0 if pass_mark is None else _HEAD
    rows = _LEVEL_ROW * len(found.levels) + 16.0 * len(found.compared) + 8.0
    top = _FOOT + rows
    figure, axes = sheet(top + head)
    x = _scale(axes, top, (0.0, 25.0, 50.0, 75.0, 100.0), say("draw_totals_total"), "%")
    if pass_mark is not None:
        _asked_line(
            axes,
            x(100 * pass_mark),
            top,
            say("draw_totals_pass_mark", pass_mark=percent(pass_mark)),
        )
    y = top - _LEVEL_ROW / 2
    for place, level in enumerate(found.levels):
        shares = [100 * total for total in level.totals]
        _level_row(axes, y, level, shape_of(place, len(found.levels)), shares, level.total, 100, x)
        y -= _LEVEL_ROW
    y += _LEVEL_ROW / 2 - 12.0
    for team in found.compared:
        write(axes, _name(say("draw_totals_team", name=team.name)), 2.0, y - 2.8)
        if team.total is not None:
            mark(axes, "cross", x(100 * team.total), y)
            side = x(100 * team.total) + 9
            words = percent(team.total)
            at_end = side + width(words, _SIZE) > WIDTH - 2
            write(
                axes,
                words,
                side - 18 if at_end else side,
                y - 2.8,
                align="right" if at_end else "left",
            )
        y -= 16.0
    return figure


def draw_lengths(found: Findings) -> Figure:
    """Return how long the sessions were, from time zero to the end, level by level."""
    top = _FOOT + _LEVEL_ROW * len(found.levels)
    figure, axes = sheet(top + 4.0)
    longest = max((level.length.largest for level in found.levels if level.length), default=0.0)
    minutes = max(1, ceil(longest / 60_000))
    step = max(1, ceil(minutes / 8))
    ticks = [float(tick) for tick in range(0, minutes + step, step)]
    x = _scale(axes, top, ticks, say("draw_lengths_length"), "min")
    y = top - _LEVEL_ROW / 2
    for place, level in enumerate(found.levels):
        shape = shape_of(place, len(found.levels))
        _level_row(axes, y, level, shape, [], level.length, 1 / 60_000, x)
        y -= _LEVEL_ROW
    return figure


def draw_key_times(found: Findings) -> Figure:
    """Return how soon key actions were done, as a share of the time asked, level by level."""
    rows = [row for row in found.key_times if row.ideal_ms > 0]
    top = _FOOT + _TIME_ROW * len(rows)
    figure, axes = sheet(top + _HEAD)
    _key(axes, found.levels, top + _HEAD - 8.0)
    x = _scale(
        axes, top, (0, 50, 100, 150, 200, 250, 300), say("draw_key_times_time_taken_asked"), "%"
    )
    line(axes, [(x(100), _FOOT), (x(100), top)], look.INK, 1.0, dashed=True)
    y = top - 8.0
    for row in rows:
        _time_row(axes, y, row, len(found.levels), x)
        y -= _TIME_ROW
    return figure


def draw_items(found: Findings) -> Figure:
    """Return the mean credit of each item, level by level."""
    items = [item for item in found.items if item.applied]
    top = _FOOT + _ITEM_ROW * len(items)
    figure, axes = sheet(top + _HEAD)
    _key(axes, found.levels, top + _HEAD - 8.0)
    x = _scale(axes, top, (0.0, 25.0, 50.0, 75.0, 100.0), say("draw_items_mean_credit"), "%")
    y = top - _ITEM_ROW / 2
    for number, item in enumerate(items):
        if number % 2 == 0:
            line(
                axes,
                [(2.0, y - _ITEM_ROW / 2), (WIDTH - _RIGHT, y - _ITEM_ROW / 2)],
                look.LINE,
                0.3,
            )
        _item_row(axes, y, item, x)
        y -= _ITEM_ROW
    return figure


def png(figure: Figure) -> bytes:
    """Return the figure as a PNG file, two pixels to a point, the same bytes each time."""
    return _saved(figure, "png")


def svg(figure: Figure) -> bytes:
    """Return the figure as an SVG file, the same bytes each time."""
    return _saved(figure, "svg")


def _saved(figure: Figure, kind: str) -> bytes:
    out = BytesIO()
    stamp = {"Date": None, "Creator": None} if kind == "svg" else {"Software": None}
    with mpl.rc_context({"svg.hashsalt": "simengine", "svg.fonttype": "path"}):
        figure.savefig(out, format=kind, dpi=144 if kind == "png" else 72, metadata=stamp)
    return out.getvalue()


Scale = Callable[[float], float]


def _scale(axes: Axes, top: float, ticks: Sequence[float], label: str, unit: str) -> Scale:
    """Draw the axis at the foot, and return how a value becomes a place."""
    low, high = ticks[0], ticks[-1]

    def x(value: float) -> float:
        share = (min(max(value, low), high) - low) / (high - low)
        return _LEFT + share * (WIDTH - _LEFT - _RIGHT)

    for tick in ticks:
        line(axes, [(x(tick), _FOOT), (x(tick), top)], look.LINE, 0.6, order=1)
        write(axes, f"{tick:g}", x(tick), _FOOT - 11.0, align="centre")
    write(axes, f"{label} ({unit})", (_LEFT + WIDTH - _RIGHT) / 2, 5.0, align="centre")
    return x


def _asked_line(axes: Axes, x: float, top: float, words: str) -> None:
    line(axes, [(x, _FOOT), (x, top)], look.INK, 1.0, dashed=True)
    write(axes, words, x, top + 6.0, align="centre")


def _level_row(
    axes: Axes,
    y: float,
    level: LevelFound,
    shape: Shape,
    each: Sequence[float],
    quartiles: Spread | None,
    factor: float,
    x: Scale,
) -> None:
    """One level: every team as a stroke, the middle half as a bar, the median as its shape."""
    write(axes, _name(level.label), 2.0, y - 0.5, bold=True)
    write(axes, say("level_row_teams", teams=level.teams), 2.0, y - 11.0, colour=look.SOFT)
    if quartiles is None:
        return
    if each:
        strokes = [(x(value), y - 12.0) for value in each]
        vertices = [point for a, b in strokes for point in ((a, b), (a, b + 7.0))]
        codes = [Path.MOVETO, Path.LINETO] * len(strokes)
        axes.add_artist(
            PathPatch(Path(vertices, codes), edgecolor=look.SOFT, linewidth=0.7, clip_on=False)
        )
    lower, middle, upper = (
        x(factor * v) for v in (quartiles.lower, quartiles.median, quartiles.upper)
    )
    least, largest = x(factor * quartiles.least), x(factor * quartiles.largest)
    line(axes, [(least, y + 3.0), (largest, y + 3.0)], look.INK, 0.8)
    line(axes, [(lower, y + 3.0), (upper, y + 3.0)], look.ACCENT, 5.0)
    mark(axes, shape, middle, y + 3.0, 5.5)


def _time_row(axes: Axes, y: float, row: KeyTime, levels: int, x: Scale) -> None:
    seconds = row.ideal_ms / 1000
    write(axes, fitted(clean(row.title), _LEFT - 8, _SIZE), 2.0, y - 8.0)
    write(
        axes,
        say("time_row_asked_within_s", seconds=f"{seconds:g}"),
        2.0,
        y - 18.5,
        colour=look.SOFT,
    )
    for place, delay in enumerate(row.delays):
        level_y = y - 2.0 - 9.0 * place
        if delay is None:
            continue
        lower, middle, upper = (
            x(100 * value / row.ideal_ms) for value in (delay.lower, delay.median, delay.upper)
        )
        line(axes, [(lower, level_y), (upper, level_y)], look.ACCENT, 2.0)
        mark(axes, shape_of(place, levels), middle, level_y)


def _item_row(axes: Axes, y: float, item: ItemFound, x: Scale) -> None:
    write(axes, fitted(clean(item.title), _LEFT - 8, _SIZE), 2.0, y - 2.8)
    places = [100 * credit for credit in item.credits if credit is not None]
    if places:
        line(axes, [(x(min(places)), y), (x(max(places)), y)], look.SOFT, 1.0)
    for place, credit in enumerate(item.credits):
        if credit is not None:
            mark(axes, shape_of(place, len(item.credits)), x(100 * credit), y)


def _key(axes: Axes, levels: Sequence[LevelFound], y: float) -> None:
    left = _LEFT
    for place, level in enumerate(levels):
        mark(axes, shape_of(place, len(levels)), left + 5, y)
        box = write(axes, _name(level.label), left + 13, y - 2.8)
        left = box[2] + 16


def _name(text: str) -> str:
    return fitted(clean(text), _LEFT - 8, _SIZE, bold=True)
