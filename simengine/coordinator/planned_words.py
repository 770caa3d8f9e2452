"""When and where a session to come is held, in words."""

from __future__ import annotations

from simengine.coordinator.page_words import day_words
from simengine.people.bookings import Booking


def when_words(one: Booking) -> str:
    """Tell when a session is to be held: ``3 March 2026, 09:30 (60 min)``."""
    if not one.starts:
        return day_words(one.day)
    return f"{day_words(one.day)}, {one.starts} ({one.minutes} min)"


def where_words(one: Booking) -> str:
    """Tell where a session is to be held."""
    return ", ".join(part for part in (one.place, one.unit) if part)
