"""Colours, sizes and signs that page, PDF and picture share.

Rules of this file:

- A verdict is told by a word and a shape; its colour (Okabe and Ito's palette, chosen to be told
  apart by colour-blind readers) only repeats them.
- Sizes of the picture are in points, its width that of the text on A4 paper.
"""

from __future__ import annotations

from typing import Literal

Box = tuple[float, float, float, float]
"""Left, bottom, right and top of what is drawn, in points."""

GROUND = "#FBFAF6"
CARD = "#FFFFFF"
INK = "#1B2733"
SOFT = "#55626D"
LINE = "#DAD6CB"
ACCENT = "#5B2A5E"
WASH = "#F1EAF2"

BLUE = "#0072B2"
ORANGE = "#E69F00"
VERMILLION = "#D55E00"
SKY = "#56B4E9"
PURPLE = "#CC79A7"
GREEN = "#009E73"
YELLOW = "#F0E442"

Shape = Literal[
    "disc",
    "diamond",
    "triangle down",
    "triangle up",
    "triangle right",
    "ring",
    "square",
    "open square",
    "half disc",
    "open diamond",
    "cross",
    "dash",
    "dot",
]

FILLS: dict[Shape, str] = {
    "disc": BLUE,
    "diamond": ORANGE,
    "triangle down": VERMILLION,
    "triangle up": SKY,
    "triangle right": SKY,
    "ring": CARD,
    "square": PURPLE,
    "open square": CARD,
    "half disc": YELLOW,
    "open diamond": CARD,
    "cross": INK,
    "dash": SOFT,
    "dot": SOFT,
}

EDGES: dict[Shape, str] = {"ring": VERMILLION, "open square": PURPLE, "open diamond": GREEN}

# Corners and curves of each shape in a square from -1 to 1, y pointing down, as SVG path data.
_CIRCLE = "M-0.8 0A0.8 0.8 0 1 1 0.8 0A0.8 0.8 0 1 1 -0.8 0Z"
_SQUARE = "M-0.7-0.7H0.7V0.7H-0.7Z"
_DIAMOND = "M0-0.95L0.95 0L0 0.95L-0.95 0Z"
PATHS: dict[Shape, str] = {
    "disc": _CIRCLE,
    "diamond": _DIAMOND,
    "triangle down": "M-0.9-0.7H0.9L0 0.85Z",
    "triangle up": "M-0.9 0.7H0.9L0-0.85Z",
    "triangle right": "M-0.7-0.9V0.9L0.85 0Z",
    "ring": _CIRCLE,
    "square": _SQUARE,
    "open square": _SQUARE,
    "half disc": _CIRCLE,
    "open diamond": _DIAMOND,
    "cross": (
        "M-0.8-0.5L-0.5-0.8L0-0.3L0.5-0.8L0.8-0.5L0.3 0"
        "L0.8 0.5L0.5 0.8L0 0.3L-0.5 0.8L-0.8 0.5L-0.3 0Z"
    ),
    "dash": "M-0.8-0.15H0.8V0.15H-0.8Z",
    "dot": "M-0.4 0A0.4 0.4 0 1 1 0.4 0A0.4 0.4 0 1 1 -0.4 0Z",
}
_HALF = "M0-0.8A0.8 0.8 0 0 0 0 0.8Z"


def sign_svg(shape: Shape) -> str:
    """Return the shape as a small SVG picture, 12 points square, without title or ids."""
    edge = EDGES.get(shape, INK)
    thick = 0.3 if shape in EDGES else 0.12
    fill = CARD if shape == "half disc" else FILLS[shape]
    paths = f'<path d="{PATHS[shape]}" fill="{fill}" stroke="{edge}" stroke-width="{thick}"/>'
    if shape == "half disc":
        paths += f'<path d="{_HALF}" fill="{INK}"/>'
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="12" height="12" '
        f'viewBox="-1.1 -1.1 2.2 2.2">{paths}</svg>'
    )
