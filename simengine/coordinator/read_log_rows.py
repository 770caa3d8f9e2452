"""Who read whose record, as rows for people."""

from __future__ import annotations

from simengine.coordinator.contexts import AccessRow, ReadRow
from simengine.quantities.formatting import times
from simengine.store.lists import DaysReading
from simengine.store.read_log import Access
from simengine.web.local_time import local, local_day


def read_row(read: Access) -> AccessRow:
    """Return a reading as a row of the whole log."""
    return AccessRow(local(read.wall), _who(read.who, read.role), read.page, read.whom)


def days_row(read: DaysReading, reader: str) -> ReadRow:
    """Return a day's readings as a row; ``reader``: the code of the trainee who looks, or empty."""
    who = "yourself" if reader and read.who == reader else _who(read.who, read.role)
    return ReadRow(local_day(read.day), who, read.page, times(read.times))


def _who(who: str, role: str) -> str:
    if role == "trainee":
        return f"the trainee {who}"
    return f"{'the coordinator' if role == 'coordinator' else 'an educator'} ({who})"
