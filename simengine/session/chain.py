"""The hash chain of a log: a changed, missing or added line shows.

Rules of this file:

- The hash of an event is the lower-case hex SHA-256 of its canonical JSON (RFC 8785) without
  ``hash``; ``prev`` is the hash of the event before it, 64 noughts at first.
- An event as JSON has the keys of ``Event``, in the log's order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from hashlib import sha256
from typing import Any

import rfc8785

from simengine.session.events import Event

FIRST = "0" * 64
"""``prev`` of the first event."""


def as_json(event: Event) -> dict[str, Any]:
    """Return an event as it stands in a log file."""
    return {
        "seq": event.seq,
        "id": event.id,
        "at_ms": event.at_ms,
        "noted_ms": event.noted_ms,
        "wall": event.wall,
        "kind": event.kind,
        "by": event.by,
        "data": event.data,
        "prev": event.prev,
        "hash": event.hash,
    }


def from_json(raw: Mapping[str, Any]) -> Event:
    """Return the event that a line of a log holds; the line has passed the schema."""
    return Event(**{name: raw[name] for name in as_json_keys})


as_json_keys = tuple(Event.__dataclass_fields__)


def hash_of(event: Event) -> str:
    """Return the hash of an event under the ``prev`` that it carries."""
    raw = as_json(event)
    del raw["hash"]
    return sha256(rfc8785.dumps(raw)).hexdigest()


def linked(event: Event, prev: str) -> Event:
    """Return ``event`` as the next link of a chain that ends in ``prev``."""
    raw = as_json(event) | {"prev": prev}
    del raw["hash"]
    return Event(**raw, hash=sha256(rfc8785.dumps(raw)).hexdigest())


def chained(events: Iterable[Event]) -> tuple[Event, ...]:
    """Return events as one chain, from the first on."""
    out: list[Event] = []
    prev = FIRST
    for event in events:
        out.append(linked(event, prev))
        prev = out[-1].hash
    return tuple(out)
