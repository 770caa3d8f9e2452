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

from simengine.scenario.model import Scenario

_KEPT = 32


@dataclass(frozen=True, slots=True)
class PackedScenario:
    """A scenario in bytes, for processes of the same program."""

    hash: str
    data: bytes


_packed: dict[int, tuple[Scenario, PackedScenario]] = {}
_unpacked: dict[str, Scenario] = {}


def packed(scenario: Scenario) -> PackedScenario:
    """Return ``scenario`` packed, the same each time."""
    kept = _packed.get(id(scenario))
    if kept is None or kept[0] is not scenario:
        if len(_packed) >= _KEPT:
            _packed.pop(next(iter(_packed)))
        data = pickle.dumps(scenario, pickle.HIGHEST_PROTOCOL)
        kept = _packed[id(scenario)] = (
            scenario,
            PackedScenario(sha256(data).hexdigest(), data),
        )
    return kept[1]


def unpacked(scenario: PackedScenario) -> Scenario:
    """Return the scenario, the same one each time in this process."""
    kept = _unpacked.get(scenario.hash)
    if kept is None:
        if len(_unpacked) >= _KEPT:
            _unpacked.pop(next(iter(_unpacked)))
        kept = _unpacked[scenario.hash] = pickle.loads(scenario.data)
    return kept
