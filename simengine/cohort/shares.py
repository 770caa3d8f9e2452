"""A share and a mean, each with its interval and the number that it rests on.

Rules of this file:

- No share without its interval: the score interval of Wilson 1927, as recommended by Newcombe 1998
  (Statistics in Medicine 17:857), worked out by scipy.
- A mean's interval is Student's t; that of shares is cut off at 0 and 1, where no mean can be.
- What can't be told (nobody, no spread to judge by) is ``None``, never 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from simengine.cohort.evidence import is_few

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Share:
    """``count`` of ``of``, a fraction of 1, and its interval (fractions of 1)."""

    count: int
    of: int
    share: float
    low: float
    high: float

    @property
    def few(self) -> bool:
        """Whether it rests on too few to be told as a percentage."""
        return is_few(self.of)


@dataclass(frozen=True, slots=True)
class Mean:
    """The mean of ``n`` values in their own unit; ``sd`` and interval ``None`` for one value."""

    n: int
    mean: float
    sd: float | None
    low: float | None
    high: float | None

    @property
    def few(self) -> bool:
        """Whether it rests on too few to tell."""
        return is_few(self.n)


@lru_cache(maxsize=10_000)
def wilson(count: int, of: int, confidence: float = CONFIDENCE) -> Share | None:
    """Return ``count`` of ``of`` with its Wilson interval; ``None`` of nobody.

    Raises ``ValueError`` where ``count`` is not between 0 and ``of``.
    """
    if not 0 <= count <= of:
        raise ValueError(f"expected 0 <= count <= of, found {count} of {of}")
    if of == 0:
        return None
    from scipy.stats import binomtest

    interval = binomtest(count, of).proportion_ci(confidence, method="wilson")
    # scipy leaves the last digit of an end at 0 or 1 to rounding
    low, high = max(0.0, float(interval.low)), min(1.0, float(interval.high))
    return Share(count, of, count / of, low, high)


def mean_of(values: Sequence[float], confidence: float = CONFIDENCE) -> Mean | None:
    """Return the mean of values with Student's interval; ``None`` of none."""
    if not values:
        return None
    import numpy as np
    from scipy.stats import t

    every = np.asarray(values, dtype=np.float64)
    n, mean = len(every), float(every.mean())
    if n == 1:
        return Mean(1, mean, None, None, None)
    sd = float(every.std(ddof=1))
    half = float(t.ppf((1 + confidence) / 2, n - 1)) * sd / n**0.5
    return Mean(n, mean, sd, mean - half, mean + half)


def mean_share(shares: Sequence[float]) -> Mean | None:
    """Return the mean of shares (fractions of 1), its interval within 0 and 1; ``None`` of none."""
    mean = mean_of(shares)
    if mean is None or mean.low is None or mean.high is None:
        return mean
    return replace(mean, low=max(0.0, mean.low), high=min(1.0, mean.high))
