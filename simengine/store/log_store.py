"""What a store of session logs does, whatever it is made of.

Rules of this file:

- Events are only ever added. What ``append`` was given is durable when it returns.
- The store keeps the hash of each session's last event beside the events, so that a lost tail
  shows when the log is read.
- A log is given out once its chain has been verified. What does not verify is given as it is kept,
  to be looked at alone: nothing is added to it, scored or signed by it.
- An event that is stored already is taken once: the same event again changes nothing, and
  another one under its id is an error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from simengine.session.events import Event


class StoreError(Exception):
    """The store can't do what it was asked; the words are for a person."""


class ChangedLogError(StoreError):
    """A log is not as it was written: a changed, missing or added entry, or a lost end."""


@dataclass(frozen=True, slots=True)
class AsKept:
    """A log as it stands in the store. ``wrong``: where it is not as it was written, in words.

    ``events``: all that can be read, up to the first entry that is no entry of a log.
    """

    events: tuple[Event, ...]
    wrong: str


@dataclass(frozen=True, slots=True)
class Planned:
    """A session as it was planned, before its log was opened. ``plan`` is JSON.

    ``wall``: when it was planned, UTC, ISO 8601.
    """

    session: str
    wall: str
    plan: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Stored:
    """A planned session, and how far its log has come.

    ``returned``: the cot is back in service. ``put_away``: why it counts for nothing, empty where
    it was not put away.
    """

    planned: Planned
    opened: bool
    closed: bool
    returned: bool
    put_away: str = ""


class LogStore(Protocol):
    """Keeps session logs. One writer; calls come one at a time."""

    def create(self, planned: Planned) -> None:
        """Keep a planned session. Raises ``StoreError`` if its id is taken."""

    def append(self, session: str, events: Sequence[Event]) -> None:
        """Add events to a session's log, all or none; durable on return.

        Raises ``StoreError`` where they do not follow the last one kept, and if the disk fails.
        """

    def events(self, session: str) -> tuple[Event, ...]:
        """Return a session's log, its chain verified. Raises ``StoreError`` if it is unknown, and
        ``ChangedLogError`` if it is not as it was written.
        """

    def as_kept(self, session: str) -> AsKept:
        """Return a log however it stands. Raises ``StoreError`` if it is unknown."""

    def sessions(self) -> tuple[Stored, ...]:
        """Return all sessions, newest first."""

    def close(self) -> None:
        """Let go of the store; what is in it stays."""
