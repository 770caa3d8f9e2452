"""Standings, days and people in the words and signs of the pages."""

from __future__ import annotations

from datetime import date

from simengine.cohort.chance import Likely
from simengine.cohort.competence import Competence
from simengine.cohort.records import Purpose
from simengine.coordinator.contexts import Sign
from simengine.people.currency import STATUSES, Currency, Status
from simengine.people.roster import Certificate, Posting, Requirement, Trainee
from simengine.quantities.wording import count, day

SIGNS: dict[Status, Sign] = {
    "overdue": Sign("overdue", "▼", "overdue"),
    "never": Sign("never", "○", "never met"),
    "due": Sign("due", "◆", "due soon"),
    "current": Sign("current", "●", "current"),
    "on leave": Sign("leave", "–", "on leave"),
}
NOT_ASKED = Sign("none", "·", "not asked")

MET = Sign("met", "●", "met last time")
NOT_MET = Sign("below", "▽", "not met last time")
NO_ATTEMPT = Sign("none", "·", "no attempt")
FEW = Sign("few", "?", "too few to tell")
LIKELY = Sign("likely", "●", "likely to meet it")
OPEN = Sign("open", "◆", "can't be told yet")
UNLIKELY = Sign("below", "▽", "not yet likely")

PURPOSES: dict[Purpose, str] = {
    "formative": "learning",
    "summative": "assessment",
    "rehearsal": "rehearsal",
}

_OF_VERDICT: dict[Likely, Sign] = {
    "likely": LIKELY,
    "not likely": UNLIKELY,
    "could be either": OPEN,
}


def day_words(one: date | None) -> str:
    """Tell a day: ``3 March 2026``; empty for none."""
    return "" if one is None else day(one)


def posting_on(trainee: Trainee, day: date) -> Posting | None:
    """Return where a person works on a day, the latest begun where there are several."""
    held = [
        one
        for one in trainee.postings
        if one.since <= day and (one.until is None or day <= one.until)
    ]
    return max(held, key=lambda one: one.since, default=None)


def unit_on(trainee: Trainee, day: date) -> str:
    """Return the unit on which a person works on a day; empty for none."""
    posting = posting_on(trainee, day)
    return posting.unit if posting is not None else ""


def in_service(trainee: Trainee, day: date) -> bool:
    """Whether a person works here on a day."""
    return posting_on(trainee, day) is not None and (trainee.left is None or day <= trainee.left)


def about(trainee: Trainee, day: date) -> str:
    """Tell profession and unit."""
    return " · ".join(part for part in (trainee.profession, unit_on(trainee, day)) if part)


def due_words(one: Currency, today: date) -> str:
    """Tell until when a requirement is met, or since when it has not been."""
    left = one.days_left(today)
    day = day_words(one.until)
    if one.status == "on leave":
        return f"paused; back after {day_words(one.back)}"
    if one.status == "never":
        return f"first by {day}" if left >= 0 else f"was due first by {day}"
    if left < 0:
        return f"{day} ({count(-left, 'day')} ago)"
    return f"{day} (in {count(left, 'day')})" if one.status == "due" else day


def note_words(one: Currency) -> str:
    """Tell what the standing rests on beside a session here."""
    told = []
    proof = one.proof
    if isinstance(proof, Certificate):
        told.append(f"certificate of {proof.issuer}")
    if one.paused_days:
        told.append(f"{count(one.paused_days, 'day')} of leave added")
    return ", ".join(told)


def last_words(one: Currency) -> str:
    """Tell when a requirement was met last."""
    proof = one.proof
    if proof is None:
        return "–"
    return day_words(proof.issued if isinstance(proof, Certificate) else proof.day)


def in_order(one: Currency) -> tuple[int, date, str, str]:
    """Return the place of a standing in the due list: the most urgent first."""
    return (STATUSES.index(one.status), one.until, one.code, one.requirement)


def role_words(requirement: Requirement) -> str:
    """Tell a requirement: its title and how often."""
    return f"{requirement.title}, every {requirement.every_months} months"


def sign_of(competence: Competence | None) -> Sign:
    """Return the sign for what attempts say; a share is never shown without what it rests on."""
    if competence is None or not competence.attempts:
        return NO_ATTEMPT
    if competence.chance is None:
        return FEW
    return _OF_VERDICT[competence.chance.verdict]


def attempts_words(competence: Competence | None) -> str:
    """Tell how many attempts there are, how many met the standard, and how the last one went."""
    if competence is None or competence.last is None:
        return ""
    n = len(competence.attempts)
    last = MET if competence.last.met else NOT_MET
    return f"{competence.met} of {n} met; {last.words}"
