"""Bars: how a number of people or sessions divides, told by hatch, shape and figure.

Rules of this file:

- Each part has its own hatch and, in the legend, its word; colour only repeats them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simengine.cohort_report.picture.scale import SMALL
from simengine.font_metrics import width, wrapped
from simengine.report import look
from simengine.report.drawing import SIZE, WIDTH, area, sheet, write
from simengine.report.printable import clean

_BAR = 15.0
_GAP = 9.0
_LINE = 9.5
_LEGEND = 15.0


@dataclass(frozen=True, slots=True)
class Kind:
    """What a part of a bar is: its word, colour and hatch."""

    word: str
    colour: str
    hatch: str | None = None
    light: bool = False


KINDS: tuple[Kind, ...] = (
    Kind("current", look.BLUE),
    Kind("due soon", look.SKY, "//", light=True),
    Kind("overdue", look.ORANGE, "xx", light=True),
    Kind("never", look.CARD, None, light=True),
    Kind("on leave", look.LINE, "..", light=True),
)
"""Currency, in the order in which it is told."""


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar: ``counts`` in the order of the kinds, ``None`` where a count is not shown."""

    label: str
    counts: tuple[int | None, ...]
    beside: str = ""


def draw_bars(
    bars: Sequence[Bar], kinds: Sequence[Kind], *, wide: float = WIDTH, legend: bool = True
) -> Figure:
    """Return the bars under one another, each as long as it counts, and a legend above them."""
    labels = [wrapped(clean(bar.label), wide - 4.0, SIZE)[:1] for bar in bars]
    row = _LINE + _BAR + _GAP
    top = row * len(bars)
    figure, axes = sheet(top + (_LEGEND if legend else 2.0), wide)
    if legend:
        _legend(axes, kinds, top + 5.0)
    most = max((sum(count or 0 for count in bar.counts) for bar in bars), default=0) or 1
    for bar, lines in zip(bars, labels, strict=True):
        write(axes, lines[0], 2.0, top - 8.0, size=SIZE)
        if bar.beside:
            write(
                axes, bar.beside, wide - 2.0, top - 8.0, size=SMALL, align="right", colour=look.SOFT
            )
        _parts(axes, bar, kinds, top - _LINE - _BAR - 1.0, (wide - 8.0) / most)
        top -= row
    return figure


def _parts(axes: Axes, bar: Bar, kinds: Sequence[Kind], foot: float, each: float) -> None:
    """Draw a bar from ``foot`` up, ``each`` points long for one."""
    left = 2.0
    for count, kind in zip(bar.counts, kinds, strict=True):
        if not count:
            continue
        right = left + each * count
        area(axes, (left, foot, right, foot + _BAR), kind.colour, edge=look.INK, hatch=kind.hatch)
        middle, room = (left + right) / 2, width(str(count), SIZE, bold=True) + 5.0
        if room < right - left:
            plate = (middle - room / 2, foot + 2.5, middle + room / 2, foot + _BAR - 2.5)
            area(axes, plate, kind.colour, order=2)
            colour = look.INK if kind.light else look.CARD
            write(axes, str(count), middle, foot + 4.6, bold=True, align="centre", colour=colour)
        left = right


def _legend(axes: Axes, kinds: Sequence[Kind], foot: float) -> None:
    left = 2.0
    for kind in kinds:
        box = (left, foot, left + 10.0, foot + 7.0)
        area(axes, box, kind.colour, edge=look.INK, hatch=kind.hatch)
        words = write(axes, kind.word, left + 13.0, foot + 0.6, size=SMALL)
        left = words[2] + 7.0
