"""Is the unit getting better? Totals over time, scenario, unit and purpose held fixed.

Rules of this file:

- The caller chooses the sessions (``evidence.for_totals``, ``each_once``). Totals are fractions
  of 1.
- Scenarios differ in difficulty, units in skill, and an assessment is not an exercise, so the
  change is told within scenario, unit and purpose: y = level of these + slope · quarters. A
  quarter is 365.25 ÷ 4 days. Who recorded is held fixed too, those with under ``FEW`` sessions as
  one.
- Sessions share days and people: the interval counts that (``clusters``).
- Nothing is said before ``LEAST`` sessions are of scenarios that the same unit held again, for the
  same purpose, at least a quarter later: what is told for each quarter was then seen over one, in
  two of the calendar's.
- The verdict goes by the interval alone (97.5 %, ``claims``): all above 0 is better, all below is
  worse, else it could be either. The interval's ends are cut where the line would leave the scale
  of 0 to 1.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from simengine.cohort.claims import SURE
from simengine.cohort.clusters import Clusters, shares_of
from simengine.cohort.records import SessionResult
from simengine.cohort.shares import Mean, mean_share, together
from simengine.cohort.slope import Direction, Slope, slope
from simengine.cohort.too_few import FEW

QUARTER_DAYS = 365.25 / 4
LEAST = 10

Verdict = Literal["getting better", "getting worse", "could be either", "too few to tell"]
Kind = tuple[str, str | None, str]
"""(scenario, unit, purpose)."""

_VERDICTS: dict[Direction, Verdict] = {
    "up": "getting better",
    "down": "getting worse",
    "either": "could be either",
}


@dataclass(frozen=True, slots=True)
class Change:
    """The change of the total for each quarter (fractions of 1), over ``n`` sessions.

    ``again``: those of a scenario that its unit held again a quarter later or more. ``slope`` is
    ``None`` where it can't be told.
    """

    slope: Slope | None
    verdict: Verdict
    n: int
    again: int
    scenarios: int
    since: date | None
    until: date | None


@dataclass(frozen=True, slots=True)
class ScenarioMean:
    """One scenario's totals over the sessions."""

    scenario: str
    title: str
    total: Mean


def kind_of(result: SessionResult) -> Kind:
    """Return what is held fixed: scenario, unit and purpose."""
    return (result.scenario, result.unit, result.purpose)


def per_quarter(results: Iterable[SessionResult]) -> Change:
    """Return how the total changes for each quarter; scenario, unit and purpose held fixed."""
    sessions = sorted(
        (result for result in results if result.total is not None), key=lambda result: result.wall
    )
    again = _again(sessions)
    quarterly = None
    if len(again) >= LEAST:
        first = again[0].day
        quarters = [(session.day - first).days / QUARTER_DAYS for session in again]
        totals = [session.total or 0.0 for session in again]
        quarterly = slope(
            totals,
            quarters,
            within=[kind_of(session) for session in again],
            factor=_recorders(again),
            clusters=Clusters(shares_of(session) for session in again),
            confidence=SURE,
        )
        if quarterly is not None:
            quarterly = _within_scale(quarterly, totals, quarters)
    return Change(
        quarterly,
        _verdict(quarterly),
        len(sessions),
        len(again),
        len({session.scenario for session in again}),
        again[0].day if again else None,
        again[-1].day if again else None,
    )


def by_scenario(results: Iterable[SessionResult]) -> tuple[ScenarioMean, ...]:
    """Return each scenario's mean total, the hardest first; all intervals hold at once."""
    out = []
    groups = _grouped(results)
    for scenario, sessions in groups.items():
        totals = [session.total or 0.0 for session in sessions]
        sure = together(len(groups))
        worth = Clusters(shares_of(session) for session in sessions).worth(totals, sure)
        total = mean_share(totals, sure, worth)
        assert total is not None
        out.append(ScenarioMean(scenario, sessions[-1].scenario_title, total))
    return tuple(
        sorted(out, key=lambda scenario_mean: (scenario_mean.total.mean, scenario_mean.scenario))
    )


def middle_day(results: Iterable[SessionResult]) -> date | None:
    """Return the day that parts the sessions into an earlier and a later half."""
    days = sorted(result.day for result in results)
    return days[len(days) // 2] if days else None


def _again(sessions: Sequence[SessionResult]) -> list[SessionResult]:
    """Return the sessions of a kind that was held again a quarter later or more."""
    first: dict[Kind, date] = {}
    last: dict[Kind, date] = {}
    for session in sessions:
        first.setdefault(kind_of(session), session.day)
        last[kind_of(session)] = session.day
    return [
        session
        for session in sessions
        if (last[kind_of(session)] - first[kind_of(session)]).days >= QUARTER_DAYS
    ]


def _recorders(sessions: Sequence[SessionResult]) -> list[tuple[str, ...]]:
    often = Counter(session.by for session in sessions)
    return [session.by if often[session.by] >= FEW else () for session in sessions]


def _within_scale(trend: Slope, totals: Sequence[float], quarters: Sequence[float]) -> Slope:
    """Return the slope, it and its ends cut where the line would leave 0 to 1."""
    mean, middle = sum(totals) / len(totals), sum(quarters) / len(quarters)
    before, after = middle - min(quarters), max(quarters) - middle
    steepest_up = min(mean / before, (1.0 - mean) / after)
    steepest_down = min((1.0 - mean) / before, mean / after)

    def cut(value: float) -> float:
        return min(max(value, -steepest_down), steepest_up)

    return replace(trend, value=cut(trend.value), low=cut(trend.low), high=cut(trend.high))


def _verdict(trend: Slope | None) -> Verdict:
    if trend is None:
        return "too few to tell"
    return _VERDICTS[trend.direction]


def _grouped(results: Iterable[SessionResult]) -> dict[str, Sequence[SessionResult]]:
    out: dict[str, list[SessionResult]] = {}
    for result in results:
        if result.total is not None:
            out.setdefault(result.scenario, []).append(result)
    return {
        name: sorted(sessions, key=lambda session: session.wall) for name, sessions in out.items()
    }
