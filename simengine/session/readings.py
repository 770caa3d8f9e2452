"""What the team could know of the infant, and since when.

Rules of this file:

- An observation that nothing reveals can be seen by anyone at any time.
- A sensor that streams reads all the time, from its delay after the start until the stop.
- Anything else gives a snapshot: the value at one instant, which then grows old. A lasting
  action that is stopped before its delay is over gives none.
- Shown by hand, an observation streams until it is hidden by hand; told once by hand, it is read at
  that instant alone.
- Only what acts reveals anything: what was done or simulated, and speech that was said.
- Known once is known: ``first_known`` does not end when a sensor is taken off.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from simengine.scenario.vocabulary import Observation
from simengine.scenario.wanted import Value
from simengine.session.dynamics import curve_at
from simengine.session.record import NEVER, Interval, Performance, Segment, Shown

if TYPE_CHECKING:
    from simengine.session.record import Session

COUNTS = ("done", "simulated")
"""The ways of doing any action that act on the infant and on the equipment."""


@dataclass(frozen=True, slots=True)
class Sensing:
    """When one observation could be read: all the time in ``streams``, once at ``snapshots``.

    ``pending``: (performed, readable) of what was begun, e.g. a probe put on that reads a minute
    later; an instant of ``snapshots`` or the start of a stream is its second figure.
    """

    streams: tuple[Interval, ...]
    snapshots: tuple[int, ...]
    pending: tuple[Interval, ...] = ()

    @property
    def first_known(self) -> int:
        """The first instant at which there was a reading; ``NEVER`` if there was none."""
        first = self.streams[0][0] if self.streams else NEVER
        return min(first, self.snapshots[0]) if self.snapshots else first

    def last_reading(self, at_ms: int) -> int | None:
        """Return the instant of the newest reading at ``at_ms``; ``None`` without any."""
        newest: int | None = None
        for start, end in self.streams:
            if start > at_ms:
                break
            newest = min(at_ms, end - 1)
        for instant in self.snapshots:
            if instant > at_ms:
                break
            if newest is None or instant > newest:
                newest = instant
        return newest

    def streams_at(self, at_ms: int) -> bool:
        """Whether a sensor reads at ``at_ms`` all the time."""
        return any(start <= at_ms < end for start, end in self.streams)

    def next_reading(self, at_ms: int) -> int | None:
        """Return when what has been begun by ``at_ms`` will read; ``None`` if nothing has."""
        waits = [reads for begun, reads in self.pending if begun <= at_ms < reads]
        return min(waits) if waits else None


@dataclass(frozen=True, slots=True)
class Known:
    """What the team knows of an observation: the value at ``at_ms``, ``age_ms`` ago."""

    value: Value
    at_ms: int
    age_ms: int
    streams: bool


def sensing(
    observation: Observation,
    performances: Sequence[Performance],
    shown: Sequence[Shown] = (),
) -> Sensing:
    """Return when ``observation`` could be read.

    ``performances`` in order of time; ``shown``: what was shown and hidden by hand.
    """
    if not observation.revealed_by:
        return Sensing(((0, NEVER),), ())
    streams: list[Interval] = []
    snapshots: list[int] = []
    pending: list[Interval] = []
    for by in observation.revealed_by:
        for performance in performances:
            if performance.action != by.action or not performance.acts:
                continue
            readable = performance.start_ms + by.delay_ms
            stop = NEVER if performance.stop_ms is None else performance.stop_ms
            if readable >= stop:
                continue
            pending.append((performance.start_ms, readable))
            if by.streams:
                streams.append((readable, stop))
            else:
                snapshots.append(readable)
    since: int | None = None
    for hand in shown:
        if hand.observation != observation.name:
            continue
        if hand.shown and since is None:
            since = hand.at_ms
        elif not hand.shown and since is not None:
            streams.append((since, hand.at_ms))
            since = None
    if since is not None:
        streams.append((since, NEVER))
    return Sensing(_joined(streams), tuple(sorted(snapshots)), tuple(sorted(pending)))


def _joined(streams: list[Interval]) -> tuple[Interval, ...]:
    out: list[Interval] = []
    for start, end in sorted(streams):
        if start >= end:
            continue
        if out and start <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        else:
            out.append((start, end))
    return tuple(out)


def true_value(
    observation: str,
    curves: Mapping[str, Sequence[Segment]],
    words: Mapping[str, Sequence[tuple[int, str]]],
    at_ms: int,
) -> Value | None:
    """Return the infant's true value; ``None`` before any state has shown one."""
    if observation in curves:
        return curve_at(curves[observation], at_ms)
    for since, word in reversed(words.get(observation, ())):
        if since <= at_ms:
            return word
    return None


def session_sensing(session: Session) -> dict[str, Sensing]:
    """Return when each observation of the vocabulary could be read in ``session``."""
    record = session.record
    return {
        name: sensing(observation, record.performances, record.shown)
        for name, observation in session.scenario.vocabulary.observations.items()
    }


def known_at(session: Session, observation: str, at_ms: int) -> Known | None:
    """Return what the team knew of ``observation`` at an instant; ``None`` if nothing."""
    record = session.record
    senses = sensing(
        session.scenario.vocabulary.observations[observation], record.performances, record.shown
    )
    read = senses.last_reading(at_ms)
    if read is None:
        return None
    value = true_value(observation, session.curves, session.words, read)
    if value is None:
        return None
    return Known(value, read, at_ms - read, senses.streams_at(at_ms))
