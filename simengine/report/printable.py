"""What of a text can be printed in the shipped typeface.

Rules of this file:

- What the typeface can't draw becomes a square, and long words may be broken.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from simengine.font_metrics import can_draw

NOT_IN_FONT = "□"
_LONGEST = 24
"""Letters in a row after which a line may break, so that no word runs out of the page."""


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
        kept.append(char if can_draw(char) else NOT_IN_FONT)
        run += 1
        if run == _LONGEST:
            kept.append("\u200b")
            run = 0
    return "".join(kept)
