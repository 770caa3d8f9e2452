"""Cumulative-sum charts with rates that are known: has somebody learned, does a rate drift?

Rules of this file:

- An attempt fails or does not. ``p0`` is the failure rate that is acceptable, ``p1`` the one that
  is not, 0 < p0 < p1 < 1. Going *up* means failures on a Wald or drift chart, and success on a
  learning chart: plots in the literature are often mislabelled (Biau 2007), so every chart says
  its sign, rates and limits in words.
- Wald's form (1947, Sequential Analysis): each failure adds 1 - s, each success takes s away. At
  the upper line p1 is taken, at the lower p0, with errors alpha (p1 taken though p0 is true) and
  beta (the reverse).
- Drift chart (Page 1954, Biometrika 41:100): log-likelihood ratios of p1 to p0, never below 0. At
  the limit it signals and starts again at 0.
- Learning chart (Biau and Porcher 2010, Statistics in Medicine 29; weights from memory): of p0 to
  p1, never below 0; at the limit competence is shown. Until then nothing is.
- Attempts are taken as equally hard and independent, and p0 as known. A unit's own drift is told by
  ``drift``, which takes none of these for granted.
- The limit of a chart with floor is simulated, seeded, for the number of attempts at hand: the
  lowest that no more than ``false_signal`` of runs reach, p0 (drift) or p1 (learning) being true.
  ``detects`` says how many runs reach it in the other case: with few attempts hardly any.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log
from typing import Literal

from simengine.quantities.wording import count, percent

Kind = Literal["drift", "learning"]

RUNS = 10_000
LEAST_RUNS = 1_000
MOST_STEPS = 10_000_000
SEED = 20260101
FALSE_SIGNAL = 0.05
EQUAL = 1e-9


@dataclass(frozen=True, slots=True)
class Wald:
    """Wald's boundaries. ``s``: what a success takes away; lines at ``upper`` and -``lower``."""

    p0: float
    p1: float
    alpha: float
    beta: float
    s: float
    upper: float
    lower: float


@dataclass(frozen=True, slots=True)
class WaldChart:
    """The line after each attempt, and the first (from 0) at which each boundary is reached."""

    wald: Wald
    values: tuple[float, ...]
    reached_upper: int | None
    reached_lower: int | None

    def words(self) -> str:
        """Return what the plot has to say of itself."""
        w = self.wald
        return (
            f"Up means failures. Acceptable failure rate {percent(w.p0)}, unacceptable "
            f"{percent(w.p1)}; each failure adds {1 - w.s:.3f}, each success takes {w.s:.3f} away. "
            f"Upper line {w.upper:.2f}, lower line −{w.lower:.2f}, for errors of "
            f"{percent(w.alpha)} and {percent(w.beta)}."
        )


@dataclass(frozen=True, slots=True)
class Limit:
    """A simulated limit. ``false_signal``, ``detects``: shares of runs of ``attempts`` attempts."""

    limit: float
    false_signal: float
    detects: float
    attempts: int
    runs: int
    seed: int


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart with floor 0: its value after each attempt; ``signals``: attempts (from 0)."""

    kind: Kind
    p0: float
    p1: float
    limit: Limit
    values: tuple[float, ...]
    signals: tuple[int, ...]

    def words(self) -> str:
        """Return what the plot has to say of itself."""
        up = "failures" if self.kind == "drift" else "success"
        meaning = "drift" if self.kind == "drift" else "competence shown"
        limit = self.limit
        return (
            f"Up means {up}. Acceptable failure rate {percent(self.p0)}, unacceptable "
            f"{percent(self.p1)}; at the limit of {limit.limit:.2f} the chart signals {meaning}. "
            f"In {limit.runs:,} simulated runs of {count(limit.attempts, 'attempt')} it did so "
            f"wrongly in {percent(limit.false_signal)} and rightly in {percent(limit.detects)}"
            + (": few attempts will rarely signal." if limit.detects < 0.5 else ".")
        )


def wald(p0: float, p1: float, alpha: float = 0.1, beta: float = 0.1) -> Wald:
    """Return Wald's boundaries. Raises ``ValueError`` unless 0 < p0 < p1 < 1."""
    _check(p0, p1)
    p, q = log(p1 / p0), log((1 - p0) / (1 - p1))
    upper, lower = log((1 - beta) / alpha) / (p + q), log((1 - alpha) / beta) / (p + q)
    return Wald(p0, p1, alpha, beta, q / (p + q), upper, lower)


def wald_chart(failed: Sequence[bool], boundaries: Wald) -> WaldChart:
    """Return the chart of attempts in order of time."""
    values = []
    line = 0.0
    for bad in failed:
        line += (1.0 if bad else 0.0) - boundaries.s
        values.append(line)
    upper = (n for n, value in enumerate(values) if value >= boundaries.upper - EQUAL)
    lower = (n for n, value in enumerate(values) if value <= -boundaries.lower + EQUAL)
    return WaldChart(boundaries, tuple(values), next(upper, None), next(lower, None))


def weights(kind: Kind, p0: float, p1: float) -> tuple[float, float]:
    """Return what a success and what a failure adds. Raises ``ValueError`` as ``wald`` does."""
    _check(p0, p1)
    success, failure = log((1 - p0) / (1 - p1)), log(p0 / p1)
    return (success, failure) if kind == "learning" else (-success, -failure)


def chart(
    failed: Sequence[bool], kind: Kind, p0: float, p1: float, limit: Limit | None = None
) -> Chart:
    """Return the chart of attempts in order of time; ``limit``: simulated where not given.

    A drift chart starts again at 0 after a signal; a learning chart goes on.
    """
    limit = limit or limit_for(kind, p0, p1, max(1, len(failed)))
    success, failure = weights(kind, p0, p1)
    values: list[float] = []
    signals: list[int] = []
    line = 0.0
    for number, bad in enumerate(failed):
        line = max(0.0, line + (failure if bad else success))
        values.append(line)
        if line >= limit.limit - EQUAL:
            if kind == "drift" or not signals:
                signals.append(number)
            if kind == "drift":
                line = 0.0
    return Chart(kind, p0, p1, limit, tuple(values), tuple(signals))


@lru_cache(maxsize=256)
def limit_for(
    kind: Kind,
    p0: float,
    p1: float,
    attempts: int,
    *,
    false_signal: float = FALSE_SIGNAL,
    runs: int = RUNS,
    seed: int = SEED,
) -> Limit:
    """Return the lowest limit that at most ``false_signal`` of the runs reach wrongly.

    ``runs``: as many, or with over a thousand attempts fewer, but never under a thousand.
    """
    import numpy as np

    runs = min(runs, max(LEAST_RUNS, MOST_STEPS // attempts))
    wrongly, rightly = (p0, p1) if kind == "drift" else (p1, p0)
    rng = np.random.default_rng(seed)
    success, failure = weights(kind, p0, p1)

    def highest(rate: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        line, most = np.zeros(runs), np.zeros(runs)
        for _ in range(attempts):
            line = np.maximum(0.0, line + np.where(rng.random(runs) < rate, failure, success))
            most = np.maximum(most, line)
        return np.round(most, 9)

    null = highest(wrongly)
    other = highest(rightly)
    candidates = np.unique(null[null > 0.0])
    # beyond all that chance reached: one more step up
    above = (candidates[-1] if len(candidates) else 0.0) + max(success, failure)
    reached = 1.0 - np.searchsorted(np.sort(null), candidates, "left") / runs
    fit = candidates[reached <= false_signal]
    limit = float(fit[0]) if len(fit) else float(above)
    return Limit(
        limit,
        float((null >= limit - EQUAL).mean()),
        float((other >= limit - EQUAL).mean()),
        attempts,
        runs,
        seed,
    )


def _check(p0: float, p1: float) -> None:
    if not 0.0 < p0 < p1 < 1.0:
        raise ValueError(f"expected 0 < p0 < p1 < 1, found {p0} and {p1}")
