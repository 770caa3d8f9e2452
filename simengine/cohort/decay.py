"""Do skills fade? What people earn against the months since their last session.

Rules of this file:

- Of each session after a person's first: the months since the one before (any that is no rehearsal,
  in any role), and the weighted mean credit of the person's own applied items, a fraction of 1.
- The slope is told within persons, with scenario, purpose, the calendar and the (logarithm of the)
  number of sessions so far held fixed: who comes rarely may differ from who comes often, practice
  is not fading, and later is not longer away. Returns share days, and a person's habits in a
  scenario: the interval, 97.5 %, counts that (``clusters``, ``claims``).
- Bands of months stand beside it with their means as they are, nothing held fixed; their intervals
  hold all at once.
- A month is 365.25 ÷ 12 days.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import inf, log

from simengine.cohort.claims import SURE
from simengine.cohort.clusters import Clusters, Shares
from simengine.cohort.evidence import opened_at
from simengine.cohort.records import Purpose, SessionResult
from simengine.cohort.shares import Mean, mean_share, together
from simengine.cohort.slope import Slope, slope
from simengine.cohort.too_few import is_too_few

MONTH_DAYS = 365.25 / 12
BANDS: tuple[tuple[float, float], ...] = ((0.0, 3.0), (3.0, 6.0), (6.0, 12.0), (12.0, inf))


@dataclass(frozen=True, slots=True)
class Return:
    """A person's return after ``months``: the ``number``-th session (from 2), and its share."""

    person: str
    scenario: str
    number: int
    months: float
    share: float
    day: date
    purpose: Purpose

    @property
    def shares(self) -> Shares:
        """What it has in common with other returns."""
        return Shares(self.day, (self.person,), self.scenario)


@dataclass(frozen=True, slots=True)
class Band:
    """Returns after ``since`` and up to ``until`` months; ``share`` is ``None`` without any."""

    since: float
    until: float
    people: int
    share: Mean | None


@dataclass(frozen=True, slots=True)
class Decay:
    """The change of the share for each month away (fractions of 1), ``None`` if untold.

    ``n`` returns of ``people`` people.
    """

    per_month: Slope | None
    bands: tuple[Band, ...]
    n: int
    people: int

    @property
    def few(self) -> bool:
        """Whether it rests on too few people to tell."""
        return is_too_few(self.people)


def returns(results: Iterable[SessionResult]) -> tuple[Return, ...]:
    """Return everybody's returns. The caller leaves rehearsals out (``evidence.for_learning``)."""
    last: dict[str, tuple[int, float]] = {}
    out = []
    for result in sorted(results, key=opened_at):
        at_days = opened_at(result).timestamp() / 86400
        shares = _own_shares(result)
        for person in dict.fromkeys(code for people in result.team.values() for code in people):
            number, before = last.get(person, (0, 0.0))
            last[person] = (number + 1, at_days)
            if number and person in shares:
                months = (at_days - before) / MONTH_DAYS
                out.append(
                    Return(
                        person,
                        result.scenario,
                        number + 1,
                        months,
                        shares[person],
                        result.day,
                        result.purpose,
                    )
                )
    return tuple(out)


def decay(found: Sequence[Return]) -> Decay:
    """Return how the share changes with the months away."""
    per_month = slope(
        [comeback.share for comeback in found],
        [comeback.months for comeback in found],
        within=[comeback.person for comeback in found],
        factor=[(comeback.scenario, comeback.purpose) for comeback in found],
        also=[
            [log(comeback.number) for comeback in found],
            [float(comeback.day.toordinal() - found[0].day.toordinal()) for comeback in found],
        ],
        clusters=Clusters(comeback.shares for comeback in found),
        confidence=SURE,
    )
    bands = []
    for since, until in BANDS:
        inside = [
            comeback
            for comeback in found
            if since < comeback.months <= until or comeback.months == since == 0.0
        ]
        people = len({comeback.person for comeback in inside})
        earned, sure = [comeback.share for comeback in inside], together(len(BANDS))
        worth = Clusters(comeback.shares for comeback in inside).worth(earned, sure)
        bands.append(Band(since, until, people, mean_share(earned, sure, worth)))
    return Decay(per_month, tuple(bands), len(found), len({comeback.person for comeback in found}))


def _own_shares(result: SessionResult) -> dict[str, float]:
    sums: dict[str, tuple[float, float]] = {}
    for item in result.items:
        if item.person is not None and item.credit is not None:
            got, weight = sums.get(item.person, (0.0, 0.0))
            sums[item.person] = (got + item.weight * item.credit, weight + item.weight)
    return {person: got / weight for person, (got, weight) in sums.items() if weight}
