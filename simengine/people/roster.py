"""The roster as plain values.

Rules of this file:

- A trainee is a code. The name stands beside it for the coordinator alone and may be empty.
- Days are calendar days where the hospital is; an end day is the last day that counts.
- A person who moves site keeps the code: each stay on a unit is a ``Posting``.
- A record is kept for some months after a person's last day: the last in service, else the end of
  the last stay where every stay has ended. Of whom no last day is known nothing is past.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from simengine.people.days import add_months


@dataclass(frozen=True, slots=True)
class Posting:
    """A stay on a unit; ``until`` is ``None`` while it lasts."""

    unit: str
    since: date
    until: date | None = None


@dataclass(frozen=True, slots=True)
class Trainee:
    """A person who is trained. ``left``: the last day in the hospital's service."""

    code: str
    profession: str
    postings: tuple[Posting, ...]
    name: str = ""
    left: date | None = None
    staff_number: str = ""
    """The key to the personnel office's own list; it stands with the name, and in no log."""


@dataclass(frozen=True, slots=True)
class Requirement:
    """Who needs what, how often. Empty ``professions``, ``units`` or ``scenarios``: any.

    ``role``: the role that has to be held, ``None`` where any will do. It is met by a session that
    counts as evidence, and again due ``every_months`` months after it. ``warn_days``: so long
    before the due day people are told; ``starter_days``: so long has who is new to it for the
    first time. ``since``: the first day on which it is asked, ``None`` if it always was.
    """

    id: str
    title: str
    every_months: int
    professions: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    scenarios: tuple[str, ...] = ()
    role: str | None = None
    warn_days: int = 60
    starter_days: int = 0
    since: date | None = None


@dataclass(frozen=True, slots=True)
class Leave:
    """Days away (both counted), for which currency is paused."""

    code: str
    since: date
    until: date
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Certificate:
    """Proof from outside that a requirement was met on a day."""

    code: str
    requirement: str
    issued: date
    issuer: str
    expires: date | None = None


@dataclass(frozen=True, slots=True)
class Attendance:
    """A person was at a training of which no session is kept: no score comes of it.

    ``minutes``: how long it was. It proves that they were there, and never that they met anything.
    """

    code: str
    day: date
    title: str
    minutes: int
    place: str = ""


@dataclass(frozen=True, slots=True)
class Roster:
    """Everything that a coordinator imports, in the order of the files.

    ``attendances``: those that files tell. What is kept of them only grows, and the store gives it
    by itself.
    """

    trainees: tuple[Trainee, ...] = ()
    requirements: tuple[Requirement, ...] = ()
    leaves: tuple[Leave, ...] = ()
    certificates: tuple[Certificate, ...] = ()
    attendances: tuple[Attendance, ...] = ()


def past_retention(
    trainees: Iterable[Trainee], months: int | None, day: date
) -> list[tuple[Trainee, date]]:
    """Return who left longer ago than records are kept, with their last day, the first first.

    ``months``: ``None`` where records are kept until somebody erases them.
    """
    if months is None:
        return []
    ended = [(trainee, last) for trainee in trainees if (last := last_day(trainee)) is not None]
    past = [(trainee, last) for trainee, last in ended if add_months(last, months) < day]
    return sorted(past, key=lambda pair: pair[1])


def last_day(trainee: Trainee) -> date | None:
    """Return a person's last day, ``None`` while nobody knows of one."""
    if trainee.left is not None:
        return trainee.left
    ends = [posting.until for posting in trainee.postings if posting.until is not None]
    return max(ends) if ends and len(ends) == len(trainee.postings) else None
