"""The shipped typeface as the plots use it: how wide a text is, and what fits in a room.

Rules of this file:

- Sizes and widths are in points.
- Nothing of the machine's own fonts is used, so that every machine draws the same picture.
"""

from __future__ import annotations

from functools import lru_cache

from matplotlib.font_manager import FontProperties, get_font
from matplotlib.ft2font import LoadFlags

from simengine.resources import fonts_dir

FAMILY = "Simengine Sans"


@lru_cache(maxsize=64)
def font(size: float, *, bold: bool = False) -> FontProperties:
    """Return the regular or bold style in this size."""
    style = "Bold" if bold else "Regular"
    return FontProperties(fname=str(fonts_dir() / f"SimengineSans-{style}.otf"), size=size)


@lru_cache(maxsize=4096)
def width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the room that one line of text needs, from its characters' own widths.

    Pairs are drawn a little closer together or apart (kerning): the line drawn is narrower than
    this, or wider by less than the hundredth that is added.
    """
    return sum(_advance(char, bold) for char in text) * size * 1.01


@lru_cache(maxsize=4096)
def _advance(char: str, bold: bool) -> float:
    """Return the width of a character as a share of the type's size."""
    face = get_font(str(fonts_dir() / f"SimengineSans-{'Bold' if bold else 'Regular'}.otf"))
    drawn = face.load_char(ord(char), flags=LoadFlags.NO_SCALE)
    return float(drawn.horiAdvance) / face.units_per_EM


def fitted(text: str, room: float, size: float, *, bold: bool = False) -> str:
    """Return ``text`` cut with an ellipsis where it is wider than ``room``."""
    if width(text, size, bold=bold) <= room:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if width(text[:middle].rstrip() + "…", size, bold=bold) <= room:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + "…"


def wrapped(text: str, room: float, size: float, *, bold: bool = False) -> list[str]:
    """Return ``text`` in lines no wider than ``room``, broken at spaces, words cut if need be."""
    lines: list[str] = []
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and width(joined, size, bold=bold) <= room:
            lines[-1] = joined
        else:
            lines.append(fitted(word, room, size, bold=bold))
    return lines or [""]
