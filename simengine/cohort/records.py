"""What a cohort knows of one session: the score card and the log, boiled down to plain values.

Rules of this file:

- A result holds trainee codes, never names.
- Credits and totals are fractions of 1, unrounded; ``None`` where not reached or nothing applied.
- Times are seconds of scenario time from the instant at which a step was asked. Where a step was
  never done, ``time_s`` is ``None`` and ``watched_s`` says how long it could have been seen: such a
  time is censored, not missing.
- ``person`` is set only where one person alone held the role: what several shared, or nobody was
  named for, is the team's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

Purpose = Literal["formative", "summative", "rehearsal"]
ThreatCategory = Literal["equipment", "drugs", "staff", "resources", "systems"]


@dataclass(frozen=True, slots=True)
class ItemResult:
    """One item of a marking guide in one session.

    ``with_cue``: its performance followed a cue. ``limit_s``: asked within, ``None`` where the kind
    of item has no window. ``stops_pass``: this item alone keeps a standard from being met: an
    essential one below the essential floor, or met only after a cue that is not allowed; or
    something marked as stopping a pass that occurred.
    """

    id: str
    title: str
    kind: str
    importance: str
    weight: float
    applied: bool
    credit: float | None
    verdict: str
    objective: str | None
    phase: str | None
    role: str | None
    person: str | None
    with_cue: bool
    time_s: float | None
    watched_s: float | None
    limit_s: float | None
    stops_pass: bool = False


@dataclass(frozen=True, slots=True)
class FaultResult:
    """One fault of the equipment in one session. ``planted``: on purpose; else met by chance."""

    id: str
    title: str
    planted: bool
    found_s: float | None
    put_right_s: float | None
    watched_s: float


@dataclass(frozen=True, slots=True)
class SessionResult:
    """One session. ``team``: role to the codes that held it at any time.

    ``standard``: the pass total of the scenario's recorded standard, ``None`` without one.
    ``wall``: the instant of opening, UTC, ISO 8601. ``by``: who recorded. ``interval``: 90 %, for
    recording error.
    """

    session: str
    day: date
    wall: str
    unit: str | None
    scenario: str
    scenario_title: str
    scenario_digest: str
    protocol: str
    protocol_digest: str
    program: str
    purpose: Purpose
    confirmed: bool
    closed: str | None
    duration_s: float
    total: float | None
    interval: tuple[float, float] | None
    outcome: str | None
    standard: float | None
    team: Mapping[str, tuple[str, ...]]
    by: tuple[str, ...]
    items: tuple[ItemResult, ...]
    objectives: Mapping[str, str] = field(default_factory=dict)
    """The objectives' names to their words."""
    faults: tuple[FaultResult, ...] = ()
    unsafe: Mapping[str, str] = field(default_factory=dict)
    """What was unsafe in any baby: the names to their words."""
    edition: int = 1
    """Of the rules of scoring; a result that does not say is of the first."""


@dataclass(frozen=True, slots=True)
class Threat:
    """A latent safety threat: what was met in a place of work that could harm a real baby.

    ``session``: where it was met, ``None`` if by chance outside one. ``due``: the day by which
    ``owner`` means to have put it right. ``closed``: the day on which that was done, and how
    (``closing``).
    """

    id: str
    unit: str | None
    category: ThreatCategory
    words: str
    opened: date
    session: str | None = None
    owner: str = ""
    due: date | None = None
    closed: date | None = None
    closing: str = ""
