"""Which pilots of a scenario there are, by the reports that ``simengine pilot`` has written.

Rules of this file:

- A pilot report names the digest of the scenario that was played; that it is of this version is
  told by the digest alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

_DIGEST = re.compile(r"\b[0-9a-f]{64}\b")


@dataclass(frozen=True, slots=True)
class PilotSeen:
    """A pilot's report, and the digests that it names."""

    file: str
    digests: frozenset[str]


def pilot_of(scenario: str, digest: str, folders: Iterable[Path]) -> PilotSeen | None:
    """Return the pilot report of a scenario by its id, best the one of this version."""
    found = None
    for folder in folders:
        file = folder / f"pilot-{scenario}.html"
        if file.is_file():
            # where a long word may be broken, the page has a space of no width
            text = file.read_text(encoding="utf-8").replace("\u200b", "")
            seen = PilotSeen(str(file), frozenset(_DIGEST.findall(text)))
            if digest in seen.digests:
                return seen
            found = found or seen
    return found
