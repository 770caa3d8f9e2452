"""Whether a session that was begun by mistake has been put away, as its log says.

Rules of this file:

- A session is put away by an entry with a reason, after its end. It counts for nothing and leaves
  lists and figures; nothing of the log is removed.
- It is brought back by withdrawing that entry, like any other.
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.session.corrections import corrected
from simengine.session.events import Event

KINDS = frozenset(("put_away", "amend"))
"""The kinds of events that it rests on."""


def standing(events: Sequence[Event]) -> Event | None:
    """Return the entry that puts a session away, if one stands. ``events``: those of ``KINDS``."""
    entries = [event for event in corrected(events, None).events if event.kind == "put_away"]
    return entries[-1] if entries else None
