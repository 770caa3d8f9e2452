"""Draw a scene: one picture of the whole session on one time axis.

Rules of this file:

- Each part is a function that takes axes, the frame that it may use, and what to draw.
- Words are placed by measuring them; no two overlap. Where a helpful label finds no free place
  it is left out; a mark's words and a state's name never are.
- Nothing depends on the machine, the day or chance: the same scene gives the same bytes.
- Grey paper: shapes, dashes and words carry the meaning; colour repeats it.
"""

from __future__ import annotations

from matplotlib.figure import Figure

from simengine.debrief.picture.clock_axis import draw_axis
from simengine.debrief.picture.curves import draw_curve
from simengine.debrief.picture.legend import draw_legend, legend_height, legend_lines
from simengine.debrief.picture.panel import Frame, Span
from simengine.debrief.picture.rows import draw_row, places_of, row_height
from simengine.debrief.picture.setting_steps import UNCHANGED, draw_settings, draw_unchanged
from simengine.debrief.picture.strips import draw_strip, strip_height
from simengine.debrief.scene import Scene
from simengine.report.drawing import sheet

GAP = 9.0
AXIS = 30.0
TARGET_HEIGHT = 640.0
"""What the picture should not be taller than: a page of A4 with its heading."""
HALF_A_PAGE = 330.0


def draw(scene: Scene, height: float = TARGET_HEIGHT) -> Figure:
    """Return the picture of a session, not taller than ``height`` (points) where it can be."""
    span = Span(scene.start, max(scene.end, scene.start + 1.0))
    legend = legend_lines(scene)
    strips = (scene.states, *scene.strips)
    placed = [(row, places_of(row, span)) for row in scene.rows]
    fixed = legend_height(legend) + AXIS + GAP * (len(scene.curves) + len(scene.settings) + 2)
    fixed += UNCHANGED + GAP if scene.unchanged else 0.0
    fixed += sum(strip_height(strip, span) for strip in strips)
    fixed += sum(row_height(places) for _, places in placed)
    curve_height, setting_heights = _panel_heights(scene, height - fixed)
    total = fixed + curve_height * len(scene.curves) + sum(setting_heights)
    figure, axes = sheet(total)
    top = total

    def frame(height: float, gap: float = 0.0) -> Frame:
        nonlocal top
        above = top - gap
        top = above - height
        return Frame(top, above)

    draw_legend(axes, frame(legend_height(legend)), legend)
    ceiling = top
    for strip in strips:
        draw_strip(axes, frame(strip_height(strip, span)), strip, span)
    for curve in scene.curves:
        draw_curve(axes, frame(curve_height, GAP), curve, span)
    for setting, height in zip(scene.settings, setting_heights, strict=True):
        draw_settings(axes, frame(height, GAP), setting, span)
    if scene.unchanged:
        draw_unchanged(axes, frame(UNCHANGED, GAP), scene.unchanged)
    top -= GAP
    for index, (row, places) in enumerate(placed):
        draw_row(axes, frame(row_height(places)), row, places, span, shaded=index % 2 == 0)
    draw_axis(axes, frame(AXIS), span, scene, ceiling=ceiling)
    return figure


def _panel_heights(scene: Scene, room: float) -> tuple[float, list[float]]:
    """Share the room left on a page between curves and settings, within what can be read."""
    shares = [0.5 + 0.5 * len(panel.lines) for panel in scene.settings]
    weights = 2.2 * len(scene.curves) + sum(shares)
    if not weights:
        return 0.0, []
    unit = room / weights
    curve = min(max(2.2 * unit, 66.0), 112.0)
    return curve, [min(max(share * unit, 26.0 * share), 44.0 * share) for share in shares]
