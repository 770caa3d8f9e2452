"""A scenario as it goes to other processes: packed once, and unpacked once in each of them.

Rules of this file:

- Whoever sends the same scenario with many jobs packs it once; a worker that has it takes its own,
  with all that has been worked out for it.
- What is packed is known by the hash of its bytes; only the last few are kept.
"""

from __future__ import annotations

import pickle
from dataclasses import dataclass
from hashlib import sha256

from simengine.scenario.kept import KEPT, kept_by_scenario
from simengine.scenario.model import Scenario


@dataclass(frozen=True, slots=True)
class PackedScenario:
    """A scenario in bytes, for processes of the same program."""

    hash: str
    data: bytes


_unpacked: dict[str, Scenario] = {}


@kept_by_scenario
def packed(scenario: Scenario) -> PackedScenario:
    """Return ``scenario`` packed, the same each time."""
    data = pickle.dumps(scenario, pickle.HIGHEST_PROTOCOL)
    return PackedScenario(sha256(data).hexdigest(), data)


def unpacked(scenario: PackedScenario) -> Scenario:
    """Return the scenario, the same one each time in this process."""
    kept = _unpacked.get(scenario.hash)
    if kept is None:
        if len(_unpacked) >= KEPT:
            _unpacked.pop(next(iter(_unpacked)))
        kept = _unpacked[scenario.hash] = pickle.loads(scenario.data)
    return kept
