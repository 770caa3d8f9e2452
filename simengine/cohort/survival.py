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
- Sessions share days and people: the curve's errors are those of as many independent sessions as
  they are worth (``clusters``), where these are given.
- Groups are compared by the scores of the log-rank test: each session's is 1 if it was done, less
  what was to be expected by then, so that their sum over a group is the test's observed less
  expected. Their difference is told with what is held fixed, and with days and people counted,
  which the test itself takes as independent.
- Where several are compared p is Holm's (1979, Scandinavian Journal of Statistics 6:65), so that
  where none differs one is called different in at most 2.5 % of all (``claims``).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from math import exp, log
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

from simengine.cohort.claims import WRONGLY
from simengine.cohort.clusters import Clusters, shares_of
from simengine.cohort.records import SessionResult
from simengine.cohort.slope import slope
from simengine.cohort.too_few import is_too_few

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from scipy.stats import CensoredData

    Floats = NDArray[np.float64]

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
        return is_too_few(self.n)

    @property
    def never(self) -> int:
        """How many did not do it while they were watched."""
        return self.n - self.done

    def at(self, time_s: float) -> Point | None:
        """Return the point that holds at a time; ``None`` before the first."""
        return next((point for point in reversed(self.points) if point.time_s <= time_s), None)

    def at_risk(self, time_s: float) -> int:
        """Return how many were still waited for just before a time."""
        return next((point.at_risk for point in self.points if point.time_s >= time_s), 0)

    def share_done(self, by_s: float) -> float:
        """Return the share who had done it by then, a fraction of 1."""
        point = self.at(by_s)
        return 0.0 if point is None else 1.0 - point.not_yet


@dataclass(frozen=True, slots=True)
class Sooner:
    """Which of two groups did it sooner: two-sided ``p``; ``first``: whether the first did.

    ``p`` is for all that were compared with it (``holm``).
    """

    p: float
    first: bool

    @property
    def which(self) -> Literal["first", "other", "either"]:
        """The group that was sooner; either where chance alone would do it too often."""
        if self.p > WRONGLY:
            return "either"
        return "first" if self.first else "other"


def timed(results: Iterable[SessionResult], item: str) -> tuple[Timed, ...]:
    """Return the times of an item in the sessions in which it was asked.

    The caller chooses the sessions: of one scenario, that count (``evidence.for_learning``).
    """
    return tuple(time for _, time in timed_sessions(results, item))


def timed_sessions(
    results: Iterable[SessionResult], item: str
) -> tuple[tuple[SessionResult, Timed], ...]:
    """Return the sessions in which an item was asked, each with its time."""
    out = []
    for result in results:
        for step in result.items:
            if step.id != item or not step.applied or step.watched_s is None:
                continue
            if step.time_s is not None:
                out.append((result, Timed(max(0.0, step.time_s), True)))
            else:
                out.append((result, Timed(max(0.0, step.watched_s), False)))
    return tuple(out)


def curve(
    times: Sequence[Timed], confidence: float = CONFIDENCE, worth: float | None = None
) -> Curve | None:
    """Return the survival curve of some times; ``None`` of none.

    ``worth``: how many independent ones they are worth, all of them if not given.
    """
    if not times:
        return None
    import numpy as np
    from scipy.stats import ecdf

    survival = ecdf(_censored(times)).sf
    when = np.sort([time.time_s for time in times])
    done = np.sort([time.time_s for time in times if time.done])
    at = survival.quantiles
    at_risk = len(when) - np.searchsorted(when, at, "left")
    ends = np.searchsorted(when, at, "right") - np.searchsorted(when, at, "left")
    events = np.searchsorted(done, at, "right") - np.searchsorted(done, at, "left")
    left = at_risk - events
    greenwood = np.cumsum(np.where(left > 0, events / (at_risk * np.maximum(left, 1)), 0.0))
    greenwood *= 1.0 if worth is None else len(times) / worth
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
        _first(points, [point.not_yet for point in points]),
        _first(points, [point.low for point in points]),
        _first(points, [point.high for point in points]),
    )


def scores(times: Sequence[Timed]) -> Floats:
    """Return each session's log-rank score: 1 if done, less the hazard added up until its time.

    The hazard is Nelson's and Aalen's of all the times. The scores add up to 0.
    """
    import numpy as np

    when = np.array([time.time_s for time in times])
    done = np.array([time.done for time in times], dtype=np.float64)
    at, first = np.unique(when, return_inverse=True)
    events = np.bincount(first, done, len(at))
    at_risk = len(when) - np.searchsorted(np.sort(when), at, "left")
    return np.asarray(done - np.cumsum(events / at_risk)[first])


def worth(sessions: Sequence[tuple[SessionResult, Timed]]) -> float:
    """Return how many independent sessions some are worth, for their times."""
    clusters = Clusters(shares_of(result) for result, _ in sessions)
    return clusters.worth(scores([time for _, time in sessions]).tolist(), CONFIDENCE)


def sooner(
    sessions: Sequence[tuple[SessionResult, Timed]],
    first: Callable[[SessionResult], bool],
    fixed: Callable[[SessionResult], Hashable],
) -> Sooner | None:
    """Return whether the sessions of the ``first`` group or the others did it sooner.

    ``fixed``: what is held fixed. ``None`` where it can't be told.
    """
    trend = slope(
        scores([time for _, time in sessions]),
        [float(first(result)) for result, _ in sessions],
        within=[fixed(result) for result, _ in sessions],
        clusters=Clusters(shares_of(result) for result, _ in sessions),
    )
    return None if trend is None else Sooner(trend.p, trend.value > 0.0)


def holm(found: Sequence[Sooner]) -> tuple[Sooner, ...]:
    """Return comparisons with p for all of them together, in the same order."""
    out = list(found)
    highest = 0.0
    for rank, place in enumerate(sorted(range(len(out)), key=lambda number: found[number].p)):
        highest = max(highest, min(1.0, (len(out) - rank) * found[place].p))
        out[place] = replace(found[place], p=highest)
    return tuple(out)


def _censored(times: Sequence[Timed]) -> CensoredData:
    import numpy as np
    from scipy.stats import CensoredData

    return CensoredData.right_censored(
        np.array([time.time_s for time in times]), np.array([not time.done for time in times])
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
