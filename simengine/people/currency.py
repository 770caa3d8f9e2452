"""Who is current in what, on a day.

Rules of this file:

- A requirement is asked of whoever has its profession and, on the day, is posted on one of its
  units; of nobody before their first day or after their last, nor before its own first day.
  Professions and units are the same whatever their case. What a person did elsewhere before a move
  counts: evidence follows the code.
- Evidence is a signed outcome (``simengine.people.outcomes`` says which count) in a scenario and a
  role that the requirement names. It holds for ``every_months`` calendar months, its last day
  counted.
- A day of leave on which it would still have held makes it hold a day longer. Leave that begins
  after it ran out gives nothing back.
- A certificate holds to its own last day, whatever the leave, for that is its issuer's rule;
  without one it is evidence like any other.
- Of several the one that holds longest counts.
- Who has never met it has ``starter_days`` from the day on which it was first asked of them, leave
  not counted.
- On leave a person is ``on leave``, not due or overdue: nobody is chased.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal, TypeVar

from simengine.people.alike import same_key
from simengine.people.days import add_months
from simengine.people.roster import Certificate, Leave, Requirement, Roster, Trainee

Status = Literal["current", "due", "overdue", "never", "on leave"]

STATUSES: tuple[Status, ...] = ("overdue", "never", "due", "current", "on leave")
"""In the order in which they ask for something to be done."""

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Evidence:
    """A person met what was asked in a session. ``roles``: those that they held in it."""

    code: str
    session: str
    day: date
    scenario: str
    roles: tuple[str, ...]


_Coded = TypeVar("_Coded", Evidence, Certificate, Leave)


@dataclass(frozen=True, slots=True)
class Currency:
    """One person and one requirement on a day.

    ``until``: the last day on which it holds or, where never met, by which it is to be met first.
    ``proof``: the evidence or certificate that it rests on. ``paused_days``: by how many days of
    leave ``until`` was moved. ``back``: the last day of the leave that the person is on.
    """

    code: str
    requirement: str
    status: Status
    until: date
    proof: Evidence | Certificate | None = None
    paused_days: int = 0
    back: date | None = None

    def days_left(self, today: date) -> int:
        """Return how many days it still holds after ``today``; negative once it has run out."""
        return (self.until - today).days


def currency(roster: Roster, evidence: Iterable[Evidence], today: date) -> tuple[Currency, ...]:
    """Return where each person stands in each requirement asked of them, in the roster's order."""
    proofs = _by_code(evidence)
    certificates = _by_code(roster.certificates)
    leaves = {code: _merged(some) for code, some in _by_code(roster.leaves).items()}
    out = []
    for trainee in roster.trainees:
        away = leaves.get(trainee.code, ())
        for requirement in roster.requirements:
            since = asked_since(trainee, requirement, today)
            if since is not None:
                held: list[Evidence | Certificate] = [
                    *(
                        proof
                        for proof in proofs.get(trainee.code, ())
                        if _meets(proof, requirement)
                    ),
                    *(
                        certificate
                        for certificate in certificates.get(trainee.code, ())
                        if certificate.requirement == requirement.id
                    ),
                ]
                out.append(_standing(trainee.code, requirement, since, held, away, today))
    return tuple(out)


def asked_since(trainee: Trainee, requirement: Requirement, today: date) -> date | None:
    """Return since when a requirement has been asked of a person, ``None`` if it is not today."""
    if requirement.professions and not _among(trainee.profession, requirement.professions):
        return None
    if requirement.since is not None and today < requirement.since:
        return None
    if trainee.left is not None and today > trainee.left:
        return None
    since = None
    before = None
    for stay in sorted(trainee.postings, key=lambda posting: posting.since):
        if stay.since > today or (requirement.units and not _among(stay.unit, requirement.units)):
            continue
        if since is None or before is None or stay.since > before + _DAY:
            since = stay.since  # a stay that follows another without a gap goes on from it
        before = max(before or date.min, stay.until or date.max - _DAY)
    if since is None or before is None or before < today:
        return None
    return max(since, requirement.since or since)


def _among(name: str, names: Iterable[str]) -> bool:
    return name in names or same_key(name) in {same_key(known) for known in names}


def persons(standing: Iterable[Currency]) -> dict[str, Status]:
    """Return each person's worst standing; who is on leave is on leave, and nobody is chased."""
    out: dict[str, Status] = {}
    for entry in standing:
        before = out.get(entry.code)
        if entry.status == "on leave":
            out[entry.code] = "on leave"
        elif before != "on leave" and (
            before is None or STATUSES.index(entry.status) < STATUSES.index(before)
        ):
            out[entry.code] = entry.status
    return out


def to_do(standing: Iterable[Currency]) -> tuple[Currency, ...]:
    """Return what is due, overdue or was never met, the most urgent first."""
    unmet = [entry for entry in standing if entry.status in ("due", "overdue", "never")]
    return tuple(sorted(unmet, key=lambda entry: (entry.until, entry.code, entry.requirement)))


def _standing(
    code: str,
    requirement: Requirement,
    since: date,
    held: Sequence[Evidence | Certificate],
    away: Sequence[tuple[date, date]],
    today: date,
) -> Currency:
    back = next((last for first, last in away if first <= today <= last), None)
    proof: Evidence | Certificate | None = None
    until, paused = _paused(since, since + timedelta(days=requirement.starter_days), away)
    longest = date.min
    for evidence in held:
        day = evidence.day if isinstance(evidence, Evidence) else evidence.issued
        if day > today:
            continue
        if isinstance(evidence, Certificate) and evidence.expires is not None:
            last, moved = evidence.expires, 0
        else:
            last, moved = _paused(day, add_months(day, requirement.every_months), away)
        if last > longest:
            longest, until, proof, paused = last, last, evidence, moved
    status: Status
    if back is not None:
        status = "on leave"
    elif proof is None:
        status = "never"
    elif today > until:
        status = "overdue"
    else:
        status = "due" if (until - today).days <= requirement.warn_days else "current"
    return Currency(code, requirement.id, status, until, proof, paused, back)


def _paused(since: date, until: date, away: Sequence[tuple[date, date]]) -> tuple[date, int]:
    """Return the last day that something begun on ``since`` holds, and by how much leave moved it.

    ``away``: stretches of leave, in order and apart from one another.
    """
    moved = 0
    for first, last in away:
        if last > since and first <= until:
            days = (last - max(first, since + _DAY)).days + 1
            until += timedelta(days=days)
            moved += days
    return until, moved


def _meets(evidence: Evidence, requirement: Requirement) -> bool:
    return (not requirement.scenarios or evidence.scenario in requirement.scenarios) and (
        requirement.role is None or requirement.role in evidence.roles
    )


def _merged(leaves: Iterable[Leave]) -> tuple[tuple[date, date], ...]:
    """Return stretches of leave in order, those that overlap or meet as one."""
    out: list[tuple[date, date]] = []
    for leave in sorted(leaves, key=lambda leave: leave.since):
        if out and leave.since <= out[-1][1] + _DAY:
            out[-1] = (out[-1][0], max(out[-1][1], leave.until))
        else:
            out.append((leave.since, leave.until))
    return tuple(out)


def _by_code(some: Iterable[_Coded]) -> Mapping[str, list[_Coded]]:
    out: dict[str, list[_Coded]] = {}
    for record in some:
        out.setdefault(record.code, []).append(record)
    return out
