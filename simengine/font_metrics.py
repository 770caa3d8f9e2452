"""How wide text is in the shipped typeface, what of it can be drawn, and what fits in a room.

Rules of this file:

- Widths come from a table beside the fonts, made with them (a test compares): reading a font takes
  a library that is slow to load.
- Sizes and widths are in points, or in any other unit, but both in the same.
- A character that is not in the table counts as wide, so that text never runs out of its box.
"""

from __future__ import annotations

from functools import lru_cache

from simengine.resources import fonts_dir

WIDE = 1.0
_UNITS = 2816
"""Units of the table to the type's size."""
_KERNING = 1.01
"""Pairs are drawn a little closer together or apart: a line is wider by less than this."""


@lru_cache(maxsize=1)
def _table() -> dict[str, tuple[float, float]]:
    """Return the advance of each character, regular and bold, as shares of the type's size."""
    advances: dict[str, tuple[float, float]] = {}
    for line in (fonts_dir() / "widths.txt").read_text(encoding="ascii").splitlines():
        codes, regular, bold = line.split()
        first, _, last = codes.partition("-")
        for code in range(int(first, 16), int(last or first, 16) + 1):
            advances[chr(code)] = (int(regular) / _UNITS, int(bold) / _UNITS)
    return advances


def can_draw(char: str) -> bool:
    """Whether every full font draws a character."""
    return char in _table()


@lru_cache(maxsize=4096)
def width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the room that one line of text needs, from its characters' own widths."""
    table = _table()
    return sum(table.get(char, (WIDE, WIDE))[bold] for char in text) * size * _KERNING


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
    """Return ``text`` in lines no wider than ``room``, broken at spaces.

    A word wider than that is broken, so that no letter is lost; a no-break space keeps its words
    together.
    """
    lines: list[str] = []
    for word in text.split(" "):
        for part in _broken(word, room, size, bold):
            longer = f"{lines[-1]} {part}" if lines else part
            if lines and width(longer, size, bold=bold) <= room:
                lines[-1] = longer
            else:
                lines.append(part)
    return lines


def _broken(word: str, room: float, size: float, bold: bool) -> list[str]:
    if width(word, size, bold=bold) <= room:
        return [word]
    parts = [""]
    for char in word:
        if parts[-1] and width(parts[-1] + char, size, bold=bold) > room:
            parts.append("")
        parts[-1] += char
    return parts
