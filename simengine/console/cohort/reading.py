"""Writing down who read whose record.

Rules of this file:

- It is written down before anything of the record is shown. If that can't be kept, nothing is
  shown (the store's error is answered).
- Without accounts a reader is known by role and by browser; a trainee by their own code.
"""

from __future__ import annotations

from collections.abc import Iterable

from starlette.requests import Request

from simengine.console.clock import wall
from simengine.console.cohort.contexts import AccessRow, ReadRow
from simengine.console.cohort.doors import role_of
from simengine.console.cohort.words import wall_day, wall_words
from simengine.console.front import front_of
from simengine.console.security import Visitor
from simengine.quantities.wording import times
from simengine.store import access
from simengine.store.lists import DaysReading


def note_read(request: Request, visitor: Visitor, what: str, whom: Iterable[str]) -> None:
    """Write down that a visitor read ``what`` of each of these people (codes)."""
    front = front_of(request)
    role = role_of(visitor)
    who = visitor.trainee if role == "trainee" else visitor.person
    access.log_accesses(front.store, who, role, what, whom, wall(front.hub.clock.wall_ms()))


def read_row(read: access.Access) -> AccessRow:
    """Return a reading as a row of the whole log."""
    return AccessRow(wall_words(read.wall), _who(read.who, read.role), read.page, read.whom)


def days_row(read: DaysReading, reader: str) -> ReadRow:
    """Return a day's readings as a row; ``reader``: the code of the trainee who looks, or empty."""
    who = "yourself" if reader and read.who == reader else _who(read.who, read.role)
    return ReadRow(wall_day(read.day), who, read.page, times(read.times))


def _who(who: str, role: str) -> str:
    if role == "trainee":
        return f"the trainee {who}"
    return f"{'the coordinator' if role == 'coordinator' else 'an educator'} ({who})"
