"""Where the texts of a figure come to lie, so that a test sees whether any are cut or cross."""

from __future__ import annotations

from matplotlib.figure import Figure
from matplotlib.text import Text

from simengine.report.look import Box


def text_boxes(figure: Figure) -> list[tuple[str, Box]]:
    """Return every text of the figure with the box that it takes, in points, as drawn."""
    boxes = []
    for text in figure.findobj(Text):
        assert isinstance(text, Text)
        if text.get_text():
            extent = text.get_window_extent()
            boxes.append((text.get_text(), (extent.x0, extent.y0, extent.x1, extent.y1)))
    return boxes
