"""What a person attended: which sessions count, and attendances as rows for people."""

from __future__ import annotations

from simengine.certificate.build_certificate import length_words
from simengine.coordinator.page_words import day_words
from simengine.coordinator.planning_contexts import AttendedRow
from simengine.coordinator.who_may_read import person_address
from simengine.people.roster import Attendance


def attended_row(one: Attendance, name: str = "") -> AttendedRow:
    """Return a line of a list of what was attended."""
    return AttendedRow(
        day=day_words(one.day),
        day_iso=one.day.isoformat(),
        code=one.code,
        name=name,
        address=person_address(one.code),
        title=one.title,
        length=length_words(60.0 * one.minutes),
        place=one.place,
    )
