"""A share and a mean, each with its interval and the number that it rests on.

Rules of this file:

- No share without its interval: the score interval of Wilson 1927, as recommended by Newcombe 1998
  (Statistics in Medicine 17:857).
- A mean's interval is Student's t; that of shares is cut off at 0 and 1, where no mean can be.
- Where sessions share days and people, both count as many as they are worth (``clusters``): the
  share or mean as it is, its interval that of so many independent ones.
- Of several that are told side by side, or of which one is picked, each has the wider interval with
  which all hold at once (Bonferroni): ``together``.
- What can't be told (nobody, no spread to judge by) is ``None``, never 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import sqrt
from statistics import NormalDist

from simengine.cohort.too_few import is_too_few

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
        return is_too_few(self.of)


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
        return is_too_few(self.n)


def together(number: int, confidence: float = CONFIDENCE) -> float:
    """Return the confidence of each of ``number`` intervals that all hold with ``confidence``."""
    return 1.0 - (1.0 - confidence) / max(1, number)


@lru_cache(maxsize=10_000)
def wilson(
    count: int, of: int, confidence: float = CONFIDENCE, worth: float | None = None
) -> Share | None:
    """Return ``count`` of ``of`` with its Wilson interval; ``None`` of nobody.

    ``worth``: how many independent ones they are worth, all of them if not given. Raises
    ``ValueError`` where ``count`` is not between 0 and ``of``.
    """
    if not 0 <= count <= of:
        raise ValueError(f"expected 0 <= count <= of, found {count} of {of}")
    if of == 0:
        return None
    n, share = float(of) if worth is None else worth, count / of
    z2 = NormalDist().inv_cdf((1 + confidence) / 2) ** 2
    middle = (share + z2 / (2 * n)) / (1 + z2 / n)
    half = sqrt(z2 * (share * (1 - share) / n + z2 / (4 * n * n))) / (1 + z2 / n)
    low = 0.0 if count == 0 else max(0.0, middle - half)
    high = 1.0 if count == of else min(1.0, middle + half)
    return Share(count, of, share, low, high)


def mean_of(
    values: Sequence[float], confidence: float = CONFIDENCE, worth: float | None = None
) -> Mean | None:
    """Return the mean of values with Student's interval; ``None`` of none.

    ``worth``: how many independent values they are worth, Student's factor within it
    (``Clusters.worth``); all of them if not given.
    """
    if not values:
        return None
    import numpy as np
    from scipy.stats import t

    every = np.asarray(values, dtype=np.float64)
    n, mean = len(every), float(every.mean())
    if n == 1:
        return Mean(1, mean, None, None, None)
    sd, at = float(every.std(ddof=1)), (1 + confidence) / 2
    if worth is None:
        half = float(t.ppf(at, n - 1)) * sd / sqrt(n)
    else:
        half = NormalDist().inv_cdf(at) * sd / sqrt(worth)
    return Mean(n, mean, sd, mean - half, mean + half)


def mean_share(
    shares: Sequence[float], confidence: float = CONFIDENCE, worth: float | None = None
) -> Mean | None:
    """Return the mean of shares (fractions of 1), its interval within 0 and 1; ``None`` of none."""
    mean = mean_of(shares, confidence, worth)
    if mean is None or mean.low is None or mean.high is None:
        return mean
    return replace(mean, low=max(0.0, mean.low), high=min(1.0, mean.high))
