"""What was looked at, how it is, and what to do.

Rules of this file:

- ``good``: as it should be. ``look``: it works, and somebody should know. ``wrong``: something will
  not work or is not safe. Whatever is not good says what to do.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Level = Literal["good", "look", "wrong"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing. ``about``: a word or two; ``words``: a sentence; ``do``: what to do, if any."""

    about: str
    level: Level
    words: str
    do: str = ""
