"""One instant of a session, looked at: what every part of a view is made from.

Rules of this file:

- Pure: the session and the instant are given. Nothing is drawn ahead of what the engine knows.
- Whoever writes words that will change by themselves leaves the instant at which they do, so that
  a new view is sent then.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from simengine.desk.view import Curve, Now
from simengine.quantities import format_quantity
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Observation
from simengine.scenario.wanted import Value
from simengine.session.dynamics import curve_at
from simengine.session.fold import Fold
from simengine.session.readings import Sensing, session_sensing
from simengine.session.record import NEVER, Segment, Session


@dataclass
class Scene:
    """A session as of ``log_ms``. ``now`` is the same instant in scenario time.

    ``opened_at_ms``: the server's clock as the log was opened. ``changes``: the instants (scenario
    time) at which words of the view change by themselves.
    """

    fold: Fold
    log_ms: int
    opened_at_ms: int
    changes: list[int] = field(default_factory=list)

    @cached_property
    def session(self) -> Session:
        """Everything that is known now."""
        return self.fold.session()

    @property
    def scenario(self) -> Scenario:
        """The scenario that runs."""
        return self.fold.scenario

    @cached_property
    def now(self) -> int:
        """The instant in scenario time; it stands still once the session is closed."""
        if self.fold.closed_ms is not None:
            return self.fold.closed_ms
        return self.fold.times.scenario(self.log_ms)

    @cached_property
    def sensing(self) -> Mapping[str, Sensing]:
        """When each observation could be read."""
        return session_sensing(self.session)

    def changes_at(self, at_ms: int | None) -> None:
        """Words change at this instant, if it is still to come."""
        if at_ms is not None and self.now < at_ms < NEVER:
            self.changes.append(at_ms)

    def next_change_log_ms(self) -> int | None:
        """Return the log time at which words next change by themselves; ``None`` if never."""
        times = self.fold.times
        if not self.changes or times.paused or self.fold.closed is not None:
            return None
        return times.log(min(self.changes))


def now_of(scene: Scene) -> Now:
    """Return which instant a view tells of."""
    fold = scene.fold
    times = fold.times
    paused = times.paused_ms
    if times.paused:
        paused += max(0, scene.log_ms - times.turns[-1][0])
    return Now(
        opened_at_ms=scene.opened_at_ms,
        log_ms=scene.log_ms,
        scenario_ms=scene.now,
        runs=not times.paused and fold.closed is None,
        paused=times.paused and fold.closed is None,
        held=fold.held,
        paused_ms=paused,
    )


def curve_of(segment: Segment, observation: Observation) -> Curve:
    """Return a stretch of a curve with the way to write it."""
    return Curve(
        segment.start_ms,
        segment.value,
        segment.target,
        segment.tau_ms,
        observation.decimals,
        observation.unit or "",
    )


def stretch_of(scene: Scene, observation: str) -> Segment | None:
    """Return the stretch of a curve that is under way; ``None`` for what has none.

    Whatever the observation turns to by itself is told then: a view holds one stretch.
    """
    segments = scene.session.curves.get(observation, ())
    to_come = [segment.start_ms for segment in segments]
    to_come += [since for since, _ in scene.session.words.get(observation, ())]
    scene.changes_at(min((at for at in to_come if at > scene.now), default=None))
    return next((part for part in reversed(segments) if part.start_ms <= scene.now), None)


def value_words(value: Value, observation: Observation) -> str:
    """Tell a value of an observation: ``70 /min``, ``rising``."""
    if isinstance(value, str):
        return value
    return format_quantity(value, observation.unit or "", observation.decimals)


def numeric_at(session: Session, observation: str, at_ms: int) -> float | None:
    """Return the true value of a numeric observation; ``None`` before it has one."""
    segments = session.curves.get(observation)
    return curve_at(segments, at_ms) if segments else None


def word_at(session: Session, observation: str, at_ms: int) -> str | None:
    """Return the true word of an observation told in words; ``None`` before it has one."""
    for since, word in reversed(session.words.get(observation, ())):
        if since <= at_ms:
            return word
    return None
