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
from simengine.console.cohort.contexts import AccessRow
from simengine.console.cohort.doors import role_of
from simengine.console.cohort.words import wall_words
from simengine.console.front import front_of
from simengine.console.security import Visitor
from simengine.store import access


def note_read(request: Request, visitor: Visitor, what: str, whom: Iterable[str]) -> None:
    """Write down that a visitor read ``what`` of each of these people (codes)."""
    front = front_of(request)
    role = role_of(visitor)
    who = visitor.trainee if role == "trainee" else visitor.person
    access.log_accesses(front.store, who, role, what, whom, wall(front.hub.clock.now_ms()))


def read_row(read: access.Access, reader: str = "") -> AccessRow:
    """Return a reading as a row; ``reader``: the code of the trainee who looks at it."""
    if read.role == "trainee":
        who = "yourself" if read.who == reader else f"the trainee {read.who}"
    else:
        who = f"{'the coordinator' if read.role == 'coordinator' else 'an educator'} ({read.who})"
    return AccessRow(wall_words(read.wall), who, read.page, read.whom)
