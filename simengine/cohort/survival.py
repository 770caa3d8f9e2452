"""Times to key actions as survival curves: the teams that never did it count too.

Rules of this file:

- A time is seconds from the instant at which the step was asked. A team that never did it is
  censored at the instant until which it was watched: not missing, and not "late".
- What was done before it was asked was done by then: 0 s.
- The curve is the share of teams who had *not yet* done it (Kaplan and Meier 1958, worked out by
  scipy); what a person reads is more kindly one minus that.
- Standard errors are Greenwood's; intervals are 95 %, on the log-log scale (Kalbfleisch and
  Prentice 1980), pointwise; the median's interval is where these cross one half (Brookmeyer and
  Crowley 1982). An end that the curve does not reach is ``None``; so are both where all did it at
  one instant.
- Groups are compared by the log-rank test (scipy). It takes sessions as independent; the same
  people come again, so that its p is a little too small.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import exp, isfinite, log
from statistics import NormalDist
from typing import TYPE_CHECKING

from simengine.cohort.evidence import is_few
from simengine.cohort.records import SessionResult

if TYPE_CHECKING:
    from scipy.stats import CensoredData

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Timed:
    """``done``: at ``time_s``; else not by then, and nobody watched longer. Seconds."""

    time_s: float
    done: bool


@dataclass(frozen=True, slots=True)
class Point:
    """The curve from ``time_s`` (seconds) on, until the next point.

    ``not_yet``: share who had not yet done it, with ``se`` and interval (fractions of 1);
    ``None`` where it can't be told: before anybody, or after everybody, has done it.
    ``at_risk``: still waited for just before; ``done``: then; ``censored``: watched no longer.
    """

    time_s: float
    not_yet: float
    se: float | None
    low: float | None
    high: float | None
    at_risk: int
    done: int
    censored: int


@dataclass(frozen=True, slots=True)
class Curve:
    """How soon ``n`` teams did something; ``done`` of them did. Times in seconds."""

    n: int
    done: int
    points: tuple[Point, ...]
    median_s: float | None
    median_low_s: float | None
    median_high_s: float | None

    @property
    def few(self) -> bool:
        """Whether it rests on too few teams to tell."""
        return is_few(self.n)

    @property
    def never(self) -> int:
        """How many did not do it while they were watched."""
        return self.n - self.done

    def at(self, time_s: float) -> Point | None:
        """Return the point that holds at a time; ``None`` before the first."""
        return next((one for one in reversed(self.points) if one.time_s <= time_s), None)

    def at_risk(self, time_s: float) -> int:
        """Return how many were still waited for just before a time."""
        return next((one.at_risk for one in self.points if one.time_s >= time_s), 0)

    def share_done(self, by_s: float) -> float:
        """Return the share who had done it by then, a fraction of 1."""
        point = self.at(by_s)
        return 0.0 if point is None else 1.0 - point.not_yet


@dataclass(frozen=True, slots=True)
class LogRank:
    """A log-rank test: chi-square on one degree of freedom, and its two-sided p.

    ``q``: p after Benjamini and Hochberg 1995, where several pairs were compared.
    """

    chi_square: float
    p: float
    n: tuple[int, int]
    done: tuple[int, int]
    q: float | None = None


def timed(results: Iterable[SessionResult], item: str) -> tuple[Timed, ...]:
    """Return the times of an item in the sessions in which it was asked.

    The caller chooses the sessions: of one scenario, that count (``evidence.for_learning``).
    """
    out = []
    for result in results:
        for one in result.items:
            if one.id != item or not one.applied or one.watched_s is None:
                continue
            if one.time_s is not None:
                out.append(Timed(max(0.0, one.time_s), True))
            else:
                out.append(Timed(max(0.0, one.watched_s), False))
    return tuple(out)


def curve(times: Sequence[Timed], confidence: float = CONFIDENCE) -> Curve | None:
    """Return the survival curve of some times; ``None`` of none."""
    if not times:
        return None
    import numpy as np
    from scipy.stats import ecdf

    survival = ecdf(_censored(times)).sf
    when = np.sort([one.time_s for one in times])
    done = np.sort([one.time_s for one in times if one.done])
    at = survival.quantiles
    at_risk = len(when) - np.searchsorted(when, at, "left")
    ends = np.searchsorted(when, at, "right") - np.searchsorted(when, at, "left")
    events = np.searchsorted(done, at, "right") - np.searchsorted(done, at, "left")
    left = at_risk - events
    greenwood = np.cumsum(np.where(left > 0, events / (at_risk * np.maximum(left, 1)), 0.0))
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    columns = (at, survival.probabilities, greenwood, at_risk, events, ends - events)
    points = [
        Point(time_s, not_yet, *_interval(not_yet, spread, z), waited, did, censored)
        for time_s, not_yet, spread, waited, did, censored in zip(
            *(column.tolist() for column in columns), strict=True
        )
    ]
    return Curve(
        len(times),
        len(done),
        tuple(points),
        _first(points, [one.not_yet for one in points]),
        _first(points, [one.low for one in points]),
        _first(points, [one.high for one in points]),
    )


def log_rank(one: Sequence[Timed], other: Sequence[Timed]) -> LogRank | None:
    """Compare two groups; ``None`` where either is empty or nobody was waited for as one did it."""
    if not one or not other:
        return None
    import numpy as np
    from scipy.stats import logrank

    with np.errstate(invalid="ignore", divide="ignore"):
        found = logrank(_censored(one), _censored(other))
    if not isfinite(found.statistic):
        return None
    return LogRank(
        float(found.statistic) ** 2,
        float(found.pvalue),
        (len(one), len(other)),
        (sum(each.done for each in one), sum(each.done for each in other)),
    )


def log_rank_pairs(groups: Mapping[str, Sequence[Timed]]) -> dict[tuple[str, str], LogRank]:
    """Compare every two of several groups; ``q`` allows for how many were compared."""
    from scipy.stats import false_discovery_control

    found: dict[tuple[str, str], LogRank] = {}
    for one, other in combinations(groups, 2):
        test = log_rank(groups[one], groups[other])
        if test is not None:
            found[one, other] = test
    if not found:
        return {}
    adjusted = false_discovery_control([test.p for test in found.values()])
    return {
        pair: LogRank(test.chi_square, test.p, test.n, test.done, float(q))
        for (pair, test), q in zip(found.items(), adjusted, strict=True)
    }


def _censored(times: Sequence[Timed]) -> CensoredData:
    import numpy as np
    from scipy.stats import CensoredData

    return CensoredData.right_censored(
        np.array([one.time_s for one in times]), np.array([not one.done for one in times])
    )


def _interval(
    not_yet: float, greenwood: float, z: float
) -> tuple[float | None, float | None, float | None]:
    """Return standard error and interval of a share; ``greenwood``: Σ d / (n (n - d))."""
    if not 0.0 < not_yet < 1.0:
        return None, None, None
    half = z * greenwood**0.5 / abs(log(not_yet))
    return not_yet * greenwood**0.5, not_yet ** exp(half), not_yet ** exp(-half)


def _first(points: Sequence[Point], shares: Sequence[float | None]) -> float | None:
    """Return the first time at which a share is one half or less (to 1e-9, for rounding)."""
    for point, share in zip(points, shares, strict=True):
        if share is not None and share <= 0.5 + 1e-9:
            return point.time_s
    return None
