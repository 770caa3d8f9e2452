"""What somebody may agree to or refuse themselves, and what holds while they have said nothing.

Rules of this file:

- Taking part, being counted under one's code, and research are three things: each is said by
  itself, and can be taken back. What was said last holds.
- Whoever has said nothing is asked aloud before each session (``taking part``), is counted in the
  hospital's own figures (``figures``), and is in nothing that goes to research or teaching
  (``research``): silence is no consent (Regulation (EU) 2016/679, recital 32).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Use = Literal["taking part", "figures", "research"]

USES: tuple[Use, ...] = ("taking part", "figures", "research")


@dataclass(frozen=True, slots=True)
class Said:
    """What a person said of a use at the instant ``wall`` (UTC, ISO 8601)."""

    code: str
    use: Use
    given: bool
    wall: str


def last_said(said: Iterable[Said]) -> dict[Use, Said]:
    """Return what one person said last of each use; ``said`` in the order in which it was."""
    return {statement.use: statement for statement in said}
