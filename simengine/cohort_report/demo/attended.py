"""A certificate of attendance of one of the invented people, over the last calendar year."""

from __future__ import annotations

from collections import Counter
from datetime import date

from simengine.certificate.attended import attended_sessions, of_attendance, of_session
from simengine.certificate.build_certificate import Certificate
from simengine.cohort.records import SessionResult
from simengine.cohort_report.demo.demo_cohort import DemoCohort
from simengine.people.roster import Attendance

MORNING = ("Study morning on preparing the cot (invented)", 90, "seminar room")


def demo_certificate(cohort: DemoCohort) -> Certificate:
    """Return the certificate of whoever took part most often in the last calendar year."""
    hospital = cohort.hospital
    since = date(hospital.last_day.year, 1, 1)
    held = [session for session in attended_sessions(cohort.results) if session.day >= since]
    often = Counter(code for session in held for code in _team(session))
    trainee = max(cohort.roster.trainees, key=lambda person: (often[person.code], person.code))
    morning = Attendance(trainee.code, date(since.year, 2, 12), *MORNING)
    own = [of_session(session) for session in held if trainee.code in _team(session)]
    return Certificate(
        code=trainee.code,
        name=trainee.name,
        about=f"{trainee.profession} · {trainee.postings[-1].unit}",
        issued=hospital.last_day,
        issuer=f"Simulation team, {hospital.title}",
        attended=(of_attendance(morning), *own),
    )


def _team(result: SessionResult) -> set[str]:
    return {code for held in result.team.values() for code in held}
