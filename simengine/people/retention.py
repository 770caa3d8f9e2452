"""How long records are kept: who is past that time.

Rules of this file:

- A person's record is kept for some months after their last day: the day that the roster names as
  the last in service, else the end of the last stay where every stay has ended. Of whom no last day
  is known nothing is past.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from simengine.people.days import add_months
from simengine.people.roster import Trainee


def past_retention(
    trainees: Iterable[Trainee], months: int | None, day: date
) -> list[tuple[Trainee, date]]:
    """Return who left longer ago than records are kept, with their last day, the first first.

    ``months``: ``None`` where records are kept until somebody erases them.
    """
    if months is None:
        return []
    ended = [(one, last) for one in trainees if (last := last_day(one)) is not None]
    past = [(one, last) for one, last in ended if add_months(last, months) < day]
    return sorted(past, key=lambda pair: pair[1])


def last_day(trainee: Trainee) -> date | None:
    """Return a person's last day, ``None`` while nobody knows of one."""
    if trainee.left is not None:
        return trainee.left
    ends = [one.until for one in trainee.postings if one.until is not None]
    return max(ends) if ends and len(ends) == len(trainee.postings) else None
