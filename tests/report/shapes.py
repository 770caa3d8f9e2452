"""What no report and no page says: the shapes that a clinician struck out when reading them.

Rules of this file:

- A shape is looked for in what is told, and not in what an author wrote (``written``: titles,
  reasons, references).
- What is said of people has shapes of its own: a page of the console may say that sending failed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

NEVER = (
    r"(?<![Ww]hat )\b[Ww]as done\b",
    r"\bso for\b",
    r"\bat least within\b",
    r"\blower by\b.*\bat least\b",
    r"\bcare asks\b",
    r"at 0:00 before",
    r"\b1 times\b|\b2 times\b",
    r"\(\w+-20\d\d\)",
    r"[a-z]_[a-z]",
    r"\{|\}",
    r"\bNone\b(?! of)|\bnan\b|\binf\b",
    r"[a-z]\.\.(?!\.)",
    r"(?<!\.)\.\.(?!\.)",
    r"  ",
    r"\bnot in the record\b",
)
OF_PEOPLE = (r"\bpoor\b|\bfail(ed|ure)?\b|\bforgot\b",)
EXACT = re.compile(r"\d+\.\d{3,}")
"""A figure has no more digits than its step: two at most follow a point."""


def odd(
    texts: Iterable[str], written: str = "", shapes: Iterable[str] = (*NEVER, *OF_PEOPLE)
) -> list[str]:
    """Return each text that has a shape in it, with the shape before it."""
    shapes = tuple(shapes)
    oddities = []
    for text in dict.fromkeys(texts):
        for shape in shapes:
            hit = re.search(shape, text)
            if hit and hit[0] not in written:
                oddities.append(f"{shape}: {text}")
        oddities += [
            f"too exact: {text}" for figure in EXACT.findall(text) if figure not in written
        ]
    return oddities
