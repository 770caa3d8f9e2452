"""The events of a session log as plain data.

Rules of this file:

- An event is what somebody (or the program) wrote down; it is never changed. A correction is
  another event, ``amend``.
- ``at_ms`` is when it happened and ``noted_ms`` when it was written down, both in whole
  milliseconds since the session was opened. ``noted_ms`` never falls from one event to the next.
- ``data`` is JSON as in the log (schema: session); values carry their own unit.
- ``prev`` and ``hash`` chain the events, see ``simengine.session.chain``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

Kind = Literal[
    "opened",
    "event",
    "action",
    "set",
    "state",
    "reveal",
    "cue",
    "fault",
    "note",
    "pause",
    "resume",
    "hold",
    "release",
    "amend",
    "undone",
    "joined",
    "left",
    "role",
    "information",
    "unobserved",
    "unavailable",
    "skip",
    "returned",
    "confirmed",
    "signed",
    "appealed",
    "superseded",
    "closed",
]


@dataclass(frozen=True, slots=True)
class Event:
    """One line of the log. ``hash`` and ``prev`` are empty until the event is chained."""

    seq: int
    id: str
    at_ms: int
    noted_ms: int
    wall: str
    kind: Kind
    by: str
    data: Mapping[str, Any]
    prev: str = ""
    hash: str = ""
