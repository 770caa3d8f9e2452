"""Sessions to come as iCalendar, read back by the icalendar library and by hand (RFC 5545)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event

from simengine.exchange.plan_calendar import Entry, plan_calendar
from simengine.people.bookings import Booking

BERLIN = ZoneInfo("Europe/Berlin")
STAMP = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
MORNING = Booking(
    id="0b8e5a56-51c2-4f1e-9d0f-000000000001",
    day=date(2026, 3, 27),
    scenario="term",
    starts="09:30",
    minutes=90,
    place="room 1; left",
    unit="north",
    changes=3,
)


def read(*entries: Entry) -> list[Event]:
    raw = plan_calendar(entries, STAMP, BERLIN)
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert all(len(line) <= 75 for line in raw.split(b"\r\n"))
    calendar = Calendar.from_ical(raw)
    assert calendar["version"] == "2.0"
    return [event for event in calendar.walk("VEVENT") if isinstance(event, Event)]


def test_a_session_begins_at_the_instant_that_the_place_has_then() -> None:
    """Berlin is an hour ahead of UTC until 29 March 2026 and two hours from then on."""
    before, after = read(
        Entry(MORNING, "Simulation: Term", "Airway: Ännchen Berg\nbring the bag"),
        Entry(replace(MORNING, id="2", day=date(2026, 3, 30)), "Simulation: Term"),
    )
    assert before.start == datetime(2026, 3, 27, 8, 30, tzinfo=UTC)
    assert before.end - before.start == timedelta(minutes=90)
    assert after.start == datetime(2026, 3, 30, 7, 30, tzinfo=UTC)
    assert before["uid"] == MORNING.id
    assert before["sequence"] == 3
    assert before["summary"] == "Simulation: Term"
    assert before["location"] == "room 1; left, north"
    assert before["description"] == "Airway: Ännchen Berg\nbring the bag"
    assert before["status"] == "CONFIRMED"


def test_without_a_time_it_is_a_whole_day_and_what_was_cancelled_says_so() -> None:
    (event,) = read(Entry(replace(MORNING, starts="", cancelled=True), "Simulation training"))
    assert event.start == date(2026, 3, 27)
    assert event.end == date(2026, 3, 28)
    assert event["status"] == "CANCELLED"
