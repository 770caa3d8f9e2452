"""What a person attended, for a certificate: sessions that were run, and training without one.

Rules of this file:

- A session counts as attended where it was held and ended; a rehearsal alone does not.
- Nothing of a result but when, what, how long and where is taken.
"""

from __future__ import annotations

from collections.abc import Iterable

from simengine.certificate.build_certificate import Attended
from simengine.cohort.records import SessionResult
from simengine.people.roster import Attendance


def attended_sessions(results: Iterable[SessionResult]) -> list[SessionResult]:
    """Return the sessions that count as attended: held and ended, and no rehearsals."""
    return [result for result in results if result.closed and result.purpose != "rehearsal"]


def of_session(result: SessionResult) -> Attended:
    """Return a session as a line of a certificate."""
    return Attended(result.day, result.scenario_title, result.duration_s, result.unit or "")


def of_attendance(attendance: Attendance) -> Attended:
    """Return a training of which no session is kept as a line of a certificate."""
    return Attended(attendance.day, attendance.title, 60.0 * attendance.minutes, attendance.place)
