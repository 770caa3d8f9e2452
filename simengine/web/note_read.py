"""Writing down who read whose record.

Rules of this file:

- It is written down before anything of the record is shown. If that can't be kept, nothing is
  shown (the store's error is answered).
- Where there are no accounts a reader is known by role and by browser, else by role and by the
  account's name; a trainee by their own code.
"""

from __future__ import annotations

from collections.abc import Iterable

from starlette.requests import Request

from simengine.store.read_log import log_accesses
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.security import Visitor


def note_read(request: Request, visitor: Visitor, what: str, whom: Iterable[str]) -> None:
    """Write down that a visitor read ``what`` of each of these people (codes)."""
    state = state_of(request)
    role = visitor.reads_as
    who = visitor.trainee if role == "trainee" else visitor.name or visitor.person
    log_accesses(state.store, who, role, what, whom, wall(state.clock.wall_ms()))
