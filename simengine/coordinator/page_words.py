"""Standings, days and people in the words and signs of the pages."""

from __future__ import annotations

from datetime import date

from simengine.cohort.chance import Likely
from simengine.cohort.competence import Competence
from simengine.cohort.records import Purpose
from simengine.coordinator.contexts import Sign
from simengine.coordinator.coordinator_sentences import say
from simengine.people.currency import STATUSES, Currency, Status
from simengine.people.roster import Certificate, Posting, Requirement, Trainee
from simengine.quantities.formatting import count, day

SIGNS: dict[Status, Sign] = {
    "overdue": Sign("overdue", "▼", say("status_overdue")),
    "never": Sign("never", "○", say("status_never")),
    "due": Sign("due", "◆", say("status_due")),
    "current": Sign("current", "●", say("status_current")),
    "on leave": Sign("leave", "–", say("status_on_leave")),
}
NOT_ASKED = Sign("none", "·", say("status_not_asked"))

MET = Sign("met", "●", say("attempt_met"))
NOT_MET = Sign("below", "▽", say("attempt_not_met"))
NO_ATTEMPT = Sign("none", "·", say("attempt_none"))
FEW = Sign("few", "?", say("attempt_few"))
LIKELY = Sign("likely", "●", say("chance_likely"))
OPEN = Sign("open", "◆", say("chance_open"))
UNLIKELY = Sign("below", "▽", say("chance_unlikely"))

PURPOSES: dict[Purpose, str] = {
    "formative": say("purpose_formative"),
    "summative": say("purpose_summative"),
    "rehearsal": say("purpose_rehearsal"),
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
        posting
        for posting in trainee.postings
        if posting.since <= day and (posting.until is None or day <= posting.until)
    ]
    return max(held, key=lambda posting: posting.since, default=None)


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
        return say("due_paused", day=day_words(one.back))
    if one.status == "never":
        return say("due_first_by" if left >= 0 else "due_first_past", day=day)
    if left < 0:
        return say("due_ago", day=day, days=count(-left, "day"))
    return say("due_in", day=day, days=count(left, "day")) if one.status == "due" else day


def note_words(one: Currency) -> str:
    """Tell what the standing rests on beside a session here."""
    notes = []
    proof = one.proof
    if isinstance(proof, Certificate):
        notes.append(say("note_certificate", issuer=proof.issuer))
    if one.paused_days:
        notes.append(say("note_leave", days=count(one.paused_days, "day")))
    return ", ".join(notes)


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
    return say("requirement_every", title=requirement.title, months=requirement.every_months)


def sign_of(competence: Competence | None) -> Sign:
    """Return the sign for what attempts say; a share is never shown without what it rests on."""
    if competence is None:
        return NO_ATTEMPT
    if competence.chance is None:
        return FEW
    return _OF_VERDICT[competence.chance.verdict]


def attempts_words(competence: Competence | None) -> str:
    """Tell how many attempts there are, how many met the standard, and how the last one went."""
    if competence is None:
        return ""
    n = len(competence.attempts)
    last = MET if competence.last.met else NOT_MET
    return say("attempts_met", met=competence.met, attempts=n, last=last.words)
