"""Taking back what a facilitator did by hand a moment ago.

Rules of this file:

- A state taken by hand, a hold, a pause or a named event can be undone, once, within a minute of
  being written down. The log keeps it; for all else it never was.
- The infant goes back to the state that was left, which then has gone on without a break; what the
  undone state led to by itself goes with it. A state taken by hand since then stands.
- A named event takes with it the state that it led to, and, if it started the team's clock, time
  zero: the next event of the name sets it.
- Time goes on as if an undone pause, while it lasts, had not begun.
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.session.events import Event, Kind

UNDONE_WITHIN_MS = 60_000

CAN_BE_UNDONE: frozenset[Kind] = frozenset(("state", "hold", "pause", "event"))


def can_be_undone(target: Event | None, noted_ms: int) -> bool:
    """Whether an ``undone`` noted at ``noted_ms`` can take ``target`` back."""
    if target is None or target.kind not in CAN_BE_UNDONE:
        return False
    if target.kind == "state" and target.data.get("cause") != "facilitator":
        return False
    return noted_ms - target.noted_ms <= UNDONE_WITHIN_MS


def target_of_undone(events: Sequence[Event], undone: Event) -> Event | None:
    """Return the event before ``undone`` that it names."""
    named = undone.data.get("id")
    return next((event for event in events if event.id == named and event.seq < undone.seq), None)
