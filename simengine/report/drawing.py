"""The few strokes that every picture of a report is made of, and pictures as files.

Rules of this file:

- The axes' data are points from the figure's lower left corner, and the figure's resolution is
  72, so that a pixel is a point and widths measured are widths drawn.
- Each function draws one thing and nothing else.
- Nothing depends on the machine, the day or chance: the same figure gives the same bytes.
- A line of words stands where it is put, by its foot and left end; it is not measured again as it
  is drawn, which would take a third of the time of a picture.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from io import BytesIO

import matplotlib as mpl
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backend_bases import RendererBase
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.transforms import Affine2D

from simengine.font_metrics import width
from simengine.report import look
from simengine.report.look import Box, Shape
from simengine.resources import fonts_dir

WIDTH = 510.0
LEFT, RIGHT = 96.0, 6.0
SIZE = 8.0
LINE_HEIGHT = 10.5
MARK = 4.2


@lru_cache(maxsize=64)
def font(size: float, *, bold: bool = False) -> FontProperties:
    """Return the shipped typeface, regular or bold, in this size."""
    style = "Bold" if bold else "Regular"
    return FontProperties(fname=str(fonts_dir() / f"SimengineSans-{style}.otf"), size=size)


def sheet(height: float, wide: float = WIDTH) -> tuple[Figure, Axes]:
    """Return an empty figure, ``wide`` and ``height`` points, and axes over all of it."""
    figure = Figure(figsize=(wide / 72, height / 72), dpi=72, facecolor=look.CARD)
    FigureCanvasSVG(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, wide)
    axes.set_ylim(0.0, height)
    return figure, axes


def write(
    axes: Axes,
    words: str,
    x: float,
    y: float,
    *,
    size: float = SIZE,
    colour: str = look.INK,
    bold: bool = False,
    align: str = "left",
    plate: str | None = None,
) -> Box:
    """Write one line with its foot at ``y`` points; return the box that it takes.

    ``plate``: the ground's colour, laid behind words that stand where lines run.
    """
    room = width(words, size, bold=bold)
    left = x if align == "left" else x - room if align == "right" else x - room / 2
    add(
        axes,
        _Line(
            left,
            y,
            words,
            color=colour,
            fontproperties=font(size, bold=bold),
            transform=axes.transData,
            verticalalignment="baseline",
            parse_math=False,
            zorder=4,
            clip_on=False,
        ),
    )
    box = (left, y - 0.24 * size, left + room, y + 0.76 * size)
    if plate is not None:
        area(axes, box, plate, order=3.4)
    return box


class _Line(Text):
    """One line of words, drawn from its foot and left end."""

    def draw(self, renderer: RendererBase) -> None:
        renderer.open_group("text", self.get_gid())
        x, y = self.get_transform().transform(self.get_position())
        height = renderer.get_canvas_width_height()[1]
        gc = renderer.new_gc()
        gc.set_foreground(self.get_color())
        words, face = self.get_text(), self.get_fontproperties()
        renderer.draw_text(gc, x, height - y, words, face, 0.0, ismath=False, mtext=self)
        gc.restore()
        renderer.close_group("text")
        self.stale = False


def add(axes: Axes, artist: Artist) -> None:
    """Put a stroke on the paper, unclipped (setting a clip costs more than drawing)."""
    figure = axes.get_figure(root=True)
    assert figure is not None
    figure.add_artist(artist, clip=False)


def mark(axes: Axes, shape: Shape, x: float, y: float, radius: float = MARK) -> Axes:
    """Draw a verdict's shape, its centre at (x, y) in points."""
    place = Affine2D().scale(radius).translate(x, y) + axes.transData
    edge = look.EDGES.get(shape, look.INK)
    face = look.CARD if shape == "half disc" else look.FILLS[shape]
    thick = 1.4 if shape in look.EDGES else 0.6
    add(
        axes,
        PathPatch(
            MARKS[shape],
            transform=place,
            facecolor=face,
            edgecolor=edge,
            linewidth=thick,
            clip_on=False,
            zorder=5,
        ),
    )
    if shape == "half disc":
        add(
            axes,
            PathPatch(
                Path.wedge(90, 270),
                transform=Affine2D().scale(0.8 * radius).translate(x, y) + axes.transData,
                facecolor=look.INK,
                linewidth=0,
                clip_on=False,
                zorder=6,
            ),
        )
    return axes


def polygon(*corners: tuple[float, float]) -> Path:
    """Return the closed path through these corners."""
    return Path([*corners, corners[0]], closed=True)


DISC = Path.circle(radius=0.8)
MARKS: dict[Shape, Path] = {
    "disc": DISC,
    "ring": DISC,
    "half disc": DISC,
    "diamond": polygon((0, 0.95), (0.95, 0), (0, -0.95), (-0.95, 0)),
    "open diamond": polygon((0, 0.95), (0.95, 0), (0, -0.95), (-0.95, 0)),
    "triangle down": polygon((-0.9, 0.7), (0.9, 0.7), (0, -0.85)),
    "triangle up": polygon((-0.9, -0.7), (0.9, -0.7), (0, 0.85)),
    "triangle right": polygon((-0.7, -0.9), (-0.7, 0.9), (0.85, 0)),
    "square": polygon((-0.7, -0.7), (0.7, -0.7), (0.7, 0.7), (-0.7, 0.7)),
    "open square": polygon((-0.7, -0.7), (0.7, -0.7), (0.7, 0.7), (-0.7, 0.7)),
    "cross": polygon(
        *((-0.8, 0.5), (-0.5, 0.8), (0, 0.3), (0.5, 0.8), (0.8, 0.5), (0.3, 0)),
        *((0.8, -0.5), (0.5, -0.8), (0, -0.3), (-0.5, -0.8), (-0.8, -0.5), (-0.3, 0)),
    ),
    "dash": polygon((-0.8, 0.15), (0.8, 0.15), (0.8, -0.15), (-0.8, -0.15)),
    "dot": Path.circle(radius=0.4),
}


def line(
    axes: Axes,
    points: Sequence[tuple[float, float]],
    colour: str,
    thick: float,
    *,
    dashed: bool = False,
    dotted: bool = False,
    order: float = 3,
) -> None:
    """Draw a line through points of the figure."""
    add(
        axes,
        PathPatch(
            Path(list(points)),
            transform=axes.transData,
            facecolor="none",
            edgecolor=colour,
            linewidth=thick,
            linestyle=(0, (3, 2)) if dashed else (0, (1, 2)) if dotted else "solid",
            clip_on=False,
            zorder=order,
        ),
    )


def area(
    axes: Axes,
    box: Box,
    colour: str,
    *,
    edge: str | None = None,
    hatch: str | None = None,
    order: float = 1,
) -> None:
    """Fill a box."""
    left, bottom, right, top = box
    add(
        axes,
        PathPatch(
            polygon((left, bottom), (right, bottom), (right, top), (left, top)),
            transform=axes.transData,
            facecolor=colour,
            edgecolor=edge or "none",
            linewidth=0.8 if edge else 0,
            hatch=hatch,
            clip_on=False,
            zorder=order,
        ),
    )


def svg(figure: Figure) -> bytes:
    """Return the figure as an SVG file, the same bytes each time."""
    out = BytesIO()
    with mpl.rc_context({"svg.hashsalt": "simengine", "svg.fonttype": "path"}):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return out.getvalue()
