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
from dataclasses import dataclass, field
from typing import Any, Final, Literal, get_args

from simengine.scenario.forms import Choice, Value, given, plain_text

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
    "put_away",
    "closed",
]

MOST_MS = 1_000_000_000_000
"""31 years: whoever means more has mistaken a unit."""
MOST_WHOLE = 2**53 - 1
"""The greatest whole number that JSON carries everywhere (RFC 8259, 6)."""

TEXT = plain_text("text", name="text")
SEQ = Value("a whole number from 0 on", {"type": "integer", "minimum": 0, "maximum": MOST_WHOLE})
MS = Value(
    "whole milliseconds from 0 on, of at most 31 years",
    {"type": "integer", "minimum": 0, "maximum": MOST_MS},
)
UUID = Value(
    "a UUID",
    {"type": "string", "pattern": "^[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}$"},
)
WALL = Value(
    "a UTC time such as 2026-01-31T09:30:00Z",
    {
        "type": "string",
        "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]+)?(Z|\+00:00)$",
    },
)
DIGEST = Value(
    "64 hexadecimal digits", {"type": "string", "pattern": "^[0-9a-f]{64}$"}, name="digest"
)
DATA = Value("data", {"type": "object"})


@dataclass(slots=True)
class Event:
    """One line of the log. ``hash`` and ``prev`` are empty until the event is chained.

    Its fields are final for whoever checks types; frozen, it would take four times as long to make.
    """

    seq: Final[int] = field(metadata=given(SEQ, "0, 1, 2, …"))
    id: Final[str] = field(
        metadata=given(UUID, "Given by whoever recorded it, so that a resend is harmless.")
    )
    at_ms: Final[int] = field(metadata=given(MS, "When it happened, since the session was opened."))
    noted_ms: Final[int] = field(metadata=given(MS, "When it was written down; never falls."))
    wall: Final[str] = field(metadata=given(WALL, "When it was written down, for people."))
    kind: Final[Kind] = field(
        metadata=given(Choice(get_args(Kind), "a kind of event"), "What it is.")
    )
    by: Final[str] = field(metadata=given(TEXT, "Who recorded it."))
    data: Final[Mapping[str, Any]] = field(metadata=given(DATA, "What belongs to its kind."))
    prev: Final[str] = field(
        default="",
        metadata=given(DIGEST, "The hash of the event before; 64 zeros at first.", needed=True),
    )
    hash: Final[str] = field(
        default="",
        metadata=given(
            DIGEST, "SHA-256 of this event's canonical JSON (RFC 8785) without hash.", needed=True
        ),
    )
