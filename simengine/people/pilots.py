"""Which pilots of a scenario there are, by the records that ``simengine pilot`` leaves.

Rules of this file:

- A record is a small JSON file beside the pilot's page: what was played, under what, by how many
  teams. No page is read to learn it.
- That a pilot is of this version of a scenario is told by the digest alone.
- A file that is no such record counts as none.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simengine import __version__
from simengine.scenario.model import Scenario


@dataclass(frozen=True, slots=True)
class PilotSeen:
    """A pilot's page, and the digest of the scenario that was played."""

    page: str
    digest: str


def record_of(scenario: Scenario, *, runs: int, seed: int) -> dict[str, Any]:
    """Return what is kept of a pilot. ``runs``: teams of each skill."""
    protocol = scenario.protocol
    return {
        "scenario": {"id": scenario.id, "version": scenario.version, "digest": scenario.digest},
        "protocol": {
            "id": protocol.id, "edition": protocol.edition, "digest": protocol.digest,
        },
        "runs": runs,
        "seed": seed,
        "program": f"simengine {__version__}",
    }  # fmt: skip


def write_record(page: Path, record: Mapping[str, Any]) -> Path:
    """Write a record beside a pilot's page."""
    file = page.with_suffix(".json")
    text = json.dumps(record, ensure_ascii=False, indent=2)
    file.write_text(f"{text}\n", encoding="utf-8", newline="\n")
    return file


def pilot_of(scenario: str, digest: str, folders: Iterable[Path]) -> PilotSeen | None:
    """Return the pilot of a scenario by its id, best the one of this version."""
    first = None
    for folder in folders:
        file = folder / f"pilot-{scenario}.json"
        try:
            played = str(json.loads(file.read_text(encoding="utf-8"))["scenario"]["digest"])
        except (OSError, ValueError, KeyError, TypeError):
            continue
        seen = PilotSeen(str(file.with_suffix(".html")), played)
        if played == digest:
            return seen
        first = first or seen
    return first
