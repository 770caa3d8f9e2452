"""Play a scenario at full speed from a script of timed entries.

Rules of this file:

- It is a live session whose clock is the script: the same code, only nobody waits.
- The script is in order of ``noted_ms``. What comes due between two entries is written down at
  its instant, as a live session would that misses nothing.
- After the last entry it runs on until it closes by itself, or until ``until_ms``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from simengine.scenario.model import Scenario
from simengine.session.events import Kind
from simengine.session.live import LiveSession, event_id
from simengine.session.record import Session

_SESSION = "00000000-0000-8000-8000-000000000000"
_WALL = "2026-01-01T09:00:00.000Z"


@dataclass(frozen=True, slots=True)
class Timed:
    """One entry of a script: it happened at ``at_ms`` and was written down at ``noted_ms``
    (``None``: at once). Log time in ms.
    """

    at_ms: int
    kind: Kind
    data: Mapping[str, Any]
    by: str = "pilot"
    noted_ms: int | None = None
    id: str | None = None

    @property
    def noted(self) -> int:
        """When it was written down."""
        return self.at_ms if self.noted_ms is None else self.noted_ms


def opening(
    scenario: Scenario,
    *,
    session_id: str,
    program: str = "simengine",
    purpose: str = "rehearsal",
    team: Mapping[str, list[str]] | None = None,
) -> dict[str, Any]:
    """Return the data of the ``opened`` event of a session of ``scenario``."""
    return {
        "session": session_id,
        **known_by(scenario),
        "program": program,
        "team": dict(team or {}),
        "purpose": purpose,
    }


def known_by(scenario: Scenario) -> dict[str, Any]:
    """Return by what a log knows the scenario and the protocol that it runs."""
    protocol = scenario.protocol
    return {
        "scenario": {
            "id": scenario.id,
            "version": scenario.version,
            "digest": scenario.digest,
            "wording": scenario.wording,
        },
        "protocol": {
            "id": protocol.id,
            "digest": protocol.digest,
            "wording": protocol.wording,
        },
    }


def play(
    scenario: Scenario,
    script: Iterable[Timed],
    *,
    opened: Mapping[str, Any] | None = None,
    wall: str = _WALL,
    until_ms: int | None = None,
    chained: bool = False,
) -> Session:
    """Play ``script`` and return the session; its ``events`` are the log.

    ``opened``: data of the opening event (default: a rehearsal); ``wall``: when it was opened.
    ``until_ms``: how long to run on at most (default: the planned time, or the last entry if that
    is later). ``chained``: hash the events on the way. Raises ``RefusedError`` for an entry that a
    live session would refuse.
    """
    live = LiveSession(scenario, chained=chained)
    data = opened if opened is not None else opening(scenario, session_id=_SESSION)
    session_id = str(data.get("session", _SESSION))
    live.record("opened", data, noted_ms=0, by="pilot", id=event_id(session_id, 0), wall=wall)
    last = 0
    for entry in script:
        last = entry.noted
        live.run(last - 1)
        live.record(
            entry.kind,
            entry.data,
            at_ms=entry.at_ms,
            noted_ms=last,
            by=entry.by,
            id=entry.id,
        )
    live.run(max(last, scenario.planned_ms if until_ms is None else until_ms))
    return live.session()
