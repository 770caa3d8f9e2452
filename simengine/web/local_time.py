"""Instants of the log (UTC) as the clocks on the wall here have them.

Rules of this file:

- Whatever a person reads as a time of day goes through here; logs, files and addresses keep UTC.
- The zone is that of the machine that runs the console, which stands where the session is held.
"""

from __future__ import annotations

from datetime import datetime

from simengine.quantities.formatting import day, minute


def local(wall: str) -> str:
    """Tell an instant: ``3 March 2026, 14:05``; its own text where it is none."""
    try:
        return minute(datetime.fromisoformat(wall))
    except ValueError:
        return wall


def local_day(wall: str) -> str:
    """Tell the day of an instant: ``3 March 2026``; its own text where it is none."""
    try:
        return day(datetime.fromisoformat(wall).astimezone().date())
    except ValueError:
        return wall
