"""Is the unit getting better? Totals over time, the scenario held fixed.

Rules of this file:

- The caller chooses the sessions (``evidence.for_totals``, ``each_once``). Totals are fractions
  of 1.
- Scenarios differ in difficulty, so the change is told within scenarios: y = level of the
  scenario + slope · quarters. A quarter is 365.25 ÷ 4 days. Where each scenario was run on one day
  alone, it can't be told.
- The same people come again and their sessions are taken as independent, so that the interval is a
  little too narrow.
- The verdict goes by the interval alone: all above 0 is better, all below is worse, else nobody can
  tell. Fewer than ``LEAST`` sessions are too few.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import sqrt
from typing import Literal

from simengine.cohort.evidence import is_few
from simengine.cohort.records import SessionResult
from simengine.cohort.shares import CONFIDENCE, Mean, mean_share
from simengine.cohort.slope import Slope, slope

QUARTER_DAYS = 365.25 / 4
LEAST = 10
EPSILON = 1e-18

Verdict = Literal["getting better", "getting worse", "can't tell", "too few to tell"]


@dataclass(frozen=True, slots=True)
class Change:
    """The change of the total for each quarter (fractions of 1), over ``n`` sessions.

    ``slope`` is ``None`` where it can't be told.
    """

    slope: Slope | None
    verdict: Verdict
    n: int
    scenarios: int
    since: date | None
    until: date | None


@dataclass(frozen=True, slots=True)
class ScenarioMean:
    """One scenario's totals over the sessions."""

    scenario: str
    title: str
    total: Mean


@dataclass(frozen=True, slots=True)
class Difference:
    """One scenario's totals before a day and from it on, and the later less the earlier.

    The difference has Welch's interval (1947), ``None`` with fewer than two sessions on a side.
    """

    scenario: str
    title: str
    before: Mean
    after: Mean
    difference: float
    low: float | None
    high: float | None

    @property
    def few(self) -> bool:
        """Whether either side rests on too few sessions to tell."""
        return is_few(min(self.before.n, self.after.n))


def per_quarter(results: Iterable[SessionResult]) -> Change:
    """Return how the total changes for each quarter, the scenario held fixed."""
    sessions = [one for one in results if one.total is not None]
    days = [one.day for one in sessions]
    since = min(days, default=None)
    until = max(days, default=None)
    found = None
    if since is not None:
        found = slope(
            [one.total or 0.0 for one in sessions],
            [(day - since).days / QUARTER_DAYS for day in days],
            within=[one.scenario for one in sessions],
        )
    return Change(
        found,
        _verdict(found, len(sessions)),
        len(sessions),
        len({one.scenario for one in sessions}),
        since,
        until,
    )


def by_scenario(results: Iterable[SessionResult]) -> tuple[ScenarioMean, ...]:
    """Return each scenario's mean total, the hardest first."""
    out = []
    for scenario, sessions in _grouped(results).items():
        total = mean_share([one.total or 0.0 for one in sessions])
        assert total is not None
        out.append(ScenarioMean(scenario, sessions[-1].scenario_title, total))
    return tuple(sorted(out, key=lambda one: (one.total.mean, one.scenario)))


def within_scenario(results: Iterable[SessionResult], day: date) -> tuple[Difference, ...]:
    """Return each scenario's totals before ``day`` and from it on, where both have some."""
    out = []
    for scenario, sessions in sorted(_grouped(results).items()):
        earlier = [one.total or 0.0 for one in sessions if one.day < day]
        later = [one.total or 0.0 for one in sessions if one.day >= day]
        before, after = mean_share(earlier), mean_share(later)
        if before is None or after is None:
            continue
        title = sessions[-1].scenario_title
        gap = after.mean - before.mean
        half = _half_width(before, after)
        ends = (None, None) if half is None else (gap - half, gap + half)
        out.append(Difference(scenario, title, before, after, gap, *ends))
    return tuple(out)


def middle_day(results: Iterable[SessionResult]) -> date | None:
    """Return the day that parts the sessions into an earlier and a later half."""
    days = sorted(one.day for one in results)
    return days[len(days) // 2] if days else None


def _half_width(one: Mean, other: Mean) -> float | None:
    """Return half of Welch's interval for the difference of two means.

    Not by scipy's test, which warns of a side whose values are all the same.
    """
    from scipy.stats import t

    if one.sd is None or other.sd is None:
        return None
    parts = [(side.sd or 0.0) ** 2 / side.n for side in (one, other)]
    if sum(parts) < EPSILON:
        return None
    freedom = sum(parts) ** 2 / sum(
        part**2 / (side.n - 1) for part, side in zip(parts, (one, other), strict=True)
    )
    return float(t.ppf((1 + CONFIDENCE) / 2, freedom)) * sqrt(sum(parts))


def _verdict(found: Slope | None, n: int) -> Verdict:
    if n < LEAST:
        return "too few to tell"
    if found is None or found.low <= 0.0 <= found.high:
        return "can't tell"
    return "getting better" if found.low > 0.0 else "getting worse"


def _grouped(results: Iterable[SessionResult]) -> dict[str, Sequence[SessionResult]]:
    out: dict[str, list[SessionResult]] = {}
    for one in results:
        if one.total is not None:
            out.setdefault(one.scenario, []).append(one)
    return {name: sorted(sessions, key=lambda one: one.wall) for name, sessions in out.items()}
