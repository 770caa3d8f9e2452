"""The shipped typeface as the plots use it: how wide a text is, and what can be written in it.

Rules of this file:

- Sizes and widths are in points.
- Nothing of the machine's own fonts is used, so that every machine draws the same picture.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from matplotlib.font_manager import FontProperties, get_font
from matplotlib.ft2font import LoadFlags

from simengine.resources import fonts_dir

FAMILY = "Simengine Sans"
NOT_IN_FONT = "□"
_LONGEST = 24
"""Letters in a row after which a line may break, so that no word runs out of the page."""


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


@lru_cache(maxsize=1)
def _covered() -> frozenset[int]:
    covered: frozenset[int] | None = None
    for style in ("Regular", "Bold"):
        charmap = get_font(str(fonts_dir() / f"SimengineSans-{style}.otf")).get_charmap()
        covered = frozenset(charmap) if covered is None else covered & frozenset(charmap)
    return covered or frozenset()


@lru_cache(maxsize=4096)
def clean(text: str) -> str:
    """Return ``text`` as it can be printed: one line, composed, only what the typeface has.

    Control and direction characters go; a character without a drawing becomes a square. Long
    unbroken words get places (zero-width spaces) where a line may break.
    """
    text = " ".join(unicodedata.normalize("NFC", text).split(" "))
    kept = []
    run = 0
    for char in text:
        kind = unicodedata.category(char)
        if kind in ("Zs", "Zl", "Zp") or char in "\t\n\r\v\f":
            # a no-break space stays one; every other kind of space or line end is a space
            kept.append(char if char == "\u00a0" else " ")
            run = 0
            continue
        if kind in ("Cc", "Cf", "Cs", "Cn", "Co") or 0xFE00 <= ord(char) <= 0xFE0F:
            continue
        kept.append(char if ord(char) in _covered() else NOT_IN_FONT)
        run += 1
        if run == _LONGEST:
            kept.append("\u200b")
            run = 0
    return "".join(kept)


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
