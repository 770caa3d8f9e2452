"""Sessions to come as iCalendar (RFC 5545).

Rules of this file:

- A session's id and the count of its changes stay with it, so that a calendar program moves or
  cancels what it has rather than adding another.
- Times of day are those of the place, which is where the program runs; they go out as instants of
  UTC, which every calendar program reads alike. Where only the day is fixed it is a whole day.
- Who is invited must not know the case: the calendar for a team names neither scenario nor people.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, tzinfo

from simengine.people.bookings import Booking

TO_A_TEAM = "Simulation training"


@dataclass(frozen=True, slots=True)
class Entry:
    """A session to come in a calendar: what it is called there, and what is said of it."""

    booking: Booking
    summary: str
    description: str = ""


def plan_calendar(entries: Iterable[Entry], stamp: datetime, zone: tzinfo | None = None) -> bytes:
    """Return the sessions as of the instant ``stamp``.

    ``zone``: of the place where they are held; the machine's where none is given.
    """
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//simengine//sessions to come//EN")
    calendar.add("version", "2.0")
    for entry in entries:
        booking = entry.booking
        event = Event()
        event.add("uid", booking.id)
        event.add("sequence", booking.changes)
        event.add("dtstamp", stamp.astimezone(UTC))
        if booking.starts:
            begins = datetime.combine(booking.day, time.fromisoformat(booking.starts), tzinfo=zone)
            event.add("dtstart", begins.astimezone(UTC))
            event.add("dtend", (begins + timedelta(minutes=booking.minutes)).astimezone(UTC))
        else:
            event.add("dtstart", booking.day)
            event.add("dtend", booking.day + timedelta(days=1))
        event.add("summary", entry.summary)
        where = ", ".join(part for part in (booking.place, booking.unit) if part)
        if where:
            event.add("location", where)
        if entry.description:
            event.add("description", entry.description)
        event.add("status", "CANCELLED" if booking.cancelled else "CONFIRMED")
        calendar.add_component(event)
    return bytes(calendar.to_ical())
