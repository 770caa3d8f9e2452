"""Whether everybody agreed to take part before a session began, as its log has it.

Rules of this file:

- The facilitator confirms it for all, as the session starts: a note with ``AGREED``. Nobody signs.
"""

from __future__ import annotations

from sqlalchemy import Connection

from simengine.session.events import Event
from simengine.store import logs

AGREED = "The prebrief was read out, and everybody agreed to take part."


def agreed(connection: Connection, session: str) -> Event | None:
    """Return the note that says so; ``None`` where the log has none."""
    notes = logs.of_kinds(connection, session, ("note",))
    return next((note for note in notes if note.data.get("text") == AGREED), None)
