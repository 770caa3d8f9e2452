"""What is known of a session, as plain data: what scoring, debrief and displays read.

Rules of this file:

- All instants are scenario time in whole milliseconds (pauses taken out, skips put in).
- ``Record`` is what people recorded, with corrections applied, in order of ``at`` then ``seq``:
  the best account there is of what the team did. Scoring reads it.
- ``Course`` of states, curves and supplies is what the engine showed, from the log as it was
  known then (``noted``): what the team saw is a fact and later corrections do not change it.
- ``Interval`` is [start, end) in ms.
- What a run makes by the hundred is a ``NamedTuple``, which is made several times as fast.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import log
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from simengine.scenario.key import Way
from simengine.scenario.model import Scenario
from simengine.scenario.wanted import Value
from simengine.session.events import Event
from simengine.session.times import Times

if TYPE_CHECKING:
    import pandas as pd

Interval = tuple[int, int]
Purpose = Literal["formative", "summative", "rehearsal"]
Why = Literal["finished", "stopped early", "safety stop"]
"""Why a session was closed."""

NEVER = 2**62
"""An instant that never comes: the end of an interval that is still open."""

LN20 = log(20.0)

NOTHING: Mapping[str, Any] = {}
"""What an entry that says nothing more says; nobody writes into it."""


class Reading(NamedTuple):
    """A value as somebody read it: a number with the unit that it was read in, or a word."""

    value: float | str
    unit: str | None = None


class Performance(NamedTuple):
    """One performance of an action: ``stop_ms`` is ``None`` for a momentary one, ``NEVER`` for
    a lasting one that was not stopped.

    ``start_mark`` and ``stop_mark`` are indexes into ``Record.marks``, the recorded times;
    ``None`` for what the scenario starts with. ``settings`` are in the vocabulary's units.
    One that was stopped before the vocabulary's ``shortest`` stands here too, and is no
    performance: that depends on recorded times, so who reads it asks ``lasted``. In a way that
    does not act, a lasting action is momentary here. ``acts``: it was done or simulated, or it is
    speech and was said, so that the infant, the equipment and whoever listens answer to it.
    """

    action: str
    start_ms: int
    stop_ms: int | None
    way: Way
    role: str | None
    event_id: str
    seq: int
    start_mark: int | None
    stop_mark: int | None = None
    noted_ms: int = 0
    settings: Mapping[str, Value] = NOTHING
    dose: Mapping[str, Reading] = NOTHING
    spoken: Mapping[str, Reading] = NOTHING
    as_read: Mapping[str, Reading] = NOTHING
    acts: bool = True

    def lasted(self, shortest_ms: int) -> bool:
        """Whether it went on for ``shortest_ms`` at least; a momentary one always has."""
        return self.stop_ms is None or self.stop_ms - self.start_ms >= shortest_ms


class Change(NamedTuple):
    """A setting taking a value (in the vocabulary's unit) at an instant.

    ``touched`` is false for the value that the scenario starts with.
    """

    setting: str
    at_ms: int
    value: Value
    seq: int
    mark: int | None
    event_id: str | None
    role: str | None = None
    as_read: Reading | None = None
    noted_ms: int = 0
    touched: bool = True


class FaultEvent(NamedTuple):
    """A fault planted, found or mended. ``mark`` is ``None`` where no person recorded it."""

    fault: str
    status: Literal["planted", "found", "mended"]
    at_ms: int
    seq: int
    mark: int | None
    event_id: str | None
    role: str | None = None


@dataclass(frozen=True, slots=True)
class CueGiven:
    """A prompt that the facilitator gave, and the action that it prompts."""

    at_ms: int
    text: str
    prompts: str | None
    planned: bool
    event_id: str
    seq: int


class Mark(NamedTuple):
    """One recorded time, which recording error may have moved: redraws shift these alone.

    ``at_ms`` is scenario time; ``at_session_ms`` what stands in the log, corrections applied.
    """

    at_ms: int
    at_session_ms: int
    recorder: str
    seq: int
    event_id: str
    by_person: bool


@dataclass(frozen=True, slots=True)
class Finding:
    """Something about the record that a facilitator should look at; scored as nothing."""

    code: str
    words: str
    event_ids: tuple[str, ...]
    at_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """A stay in a state, [entry, exit); ``cause`` is ``start``, ``rule`` or ``facilitator``."""

    state: str
    entry_ms: int
    exit_ms: int
    cause: str
    rule: int | None
    seq: int
    event_id: str | None


class Segment(NamedTuple):
    """A stretch of one numeric observation: from ``start_ms`` until the next segment's start.

    v(t) = target + (value - target) * exp(-(t - start) / tau), ``tau_ms`` = within / ln 20;
    ``tau_ms`` is ``None`` for a constant.
    """

    start_ms: int
    value: float
    target: float
    tau_ms: float | None


class Level(NamedTuple):
    """A stretch of a supply: ``contents - rate * (t - start)`` in the supply's unit, floor 0."""

    start_ms: int
    contents: float
    rate_per_ms: float


@dataclass(frozen=True, slots=True)
class Shown:
    """An observation shown to the team (or hidden again) by hand."""

    observation: str
    at_ms: int
    shown: bool
    event_id: str
    seq: int = -1
    role: str | None = None


@dataclass(frozen=True, slots=True)
class Tenure:
    """Who held a role, [start, end); the end is ``NEVER`` for who held it to the last."""

    person: str
    role: str
    start_ms: int
    end_ms: int


@dataclass(frozen=True, slots=True)
class Record:
    """What people recorded, corrections applied. Lists are ordered by (``at_ms``, ``seq``).

    ``changes`` begins with the scenario's own start settings (``touched`` false). ``team``: role
    → the person keys of all who held it, in order.
    """

    marks: tuple[Mark, ...]
    performances: tuple[Performance, ...]
    changes: Mapping[str, tuple[Change, ...]]
    faults: tuple[FaultEvent, ...]
    cues: tuple[CueGiven, ...]
    clock_ms: int | None
    clock_mark: int | None
    unobserved: frozenset[str]
    unavailable: tuple[Mapping[str, Any], ...]
    team: Mapping[str, tuple[str, ...]]
    confirmed: bool
    shown: tuple[Shown, ...] = ()
    tenures: tuple[Tenure, ...] = ()


@dataclass(frozen=True, slots=True)
class Session:
    """A folded log: the scenario that it ran, the record, what was shown, and how it ended.

    ``curves``: segments of each numeric observation; ``words``: (instant, word) of the others;
    ``supplies``: levels. ``stays`` are those that count; ``undone`` those that were taken back, in
    which the state left has gone on. ``effective`` are the events with corrections applied, and
    what was withdrawn or undone left out. ``end_ms``: ``closed``, else the last event. ``times``
    turns the log's time into scenario time and back.
    """

    scenario: Scenario
    session_id: str
    purpose: Purpose
    events: tuple[Event, ...]
    effective: tuple[Event, ...]
    record: Record
    stays: tuple[Stay, ...]
    curves: Mapping[str, tuple[Segment, ...]]
    words: Mapping[str, tuple[tuple[int, str], ...]]
    supplies: Mapping[str, tuple[Level, ...]]
    end_ms: int
    closed: Why | None
    findings: tuple[Finding, ...]
    paused_ms: int
    last_hash: str
    times: Times = field(default_factory=Times)
    undone: tuple[Stay, ...] = ()

    def __repr__(self) -> str:
        """Return the session in a line."""
        from simengine.session.notebook import summary

        return summary(self)

    def _repr_html_(self) -> str:
        """Return the clock strip that a notebook shows."""
        from simengine.session.notebook import clock_strip

        return clock_strip(self)

    def curves_frame(self, every: str = "1 s") -> pd.DataFrame:
        """Return states, observations, settings and supplies as a table, a row for each step.

        Columns name their units; times are in ms. Needs pandas (``simengine[notebook]``), else
        raises ``ImportError``; raises ``ValueError`` where ``every`` is no length of time.
        """
        from simengine.session.notebook import curves_frame

        return curves_frame(self, every)

    def events_frame(self) -> pd.DataFrame:
        """Return the entries in order of time, corrections applied, with their words.

        Times are in ms. Needs pandas (``simengine[notebook]``), else raises ``ImportError``.
        """
        from simengine.session.notebook import events_frame

        return events_frame(self)
