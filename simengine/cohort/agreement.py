"""Agreement of observers on what they saw: kappas, and Krippendorff's alpha.

Rules of this file:

- Each figure has a 95 % interval: Cohen's from its large-sample standard error (Fleiss, Cohen and
  Everitt 1969, Psychological Bulletin 72:323), over sessions instead of single ratings where the
  ratings come in sessions (each session's sum of what its ratings add, Student's t); the others
  from 1,000 seeded resamples of the things that were rated (percentiles).
- Where all agree on one category alone, chance agreement is 1 and no kappa can be told: ``None``.
- None of these depends on how often a category comes up by itself, and all of them fall where one
  is rare; so the plain share of agreement stands beside the kappa.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import isfinite
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

from simengine.cohort.evidence import is_few

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

CONFIDENCE = 0.95
RESAMPLES = 1000
SEED = 20260101
EPSILON = 1e-12

Weights = Literal["linear", "quadratic"]
Level = Literal["nominal", "ordinal", "interval"]


@dataclass(frozen=True, slots=True)
class Agreement:
    """Agreement beyond chance: 1 is perfect, 0 is what chance gives.

    ``observed``: agreement as it is (weighted where the figure is), a fraction of 1; ``expected``:
    what chance gives. ``n``: how many things were rated.
    """

    value: float
    low: float | None
    high: float | None
    observed: float
    expected: float
    n: int

    @property
    def few(self) -> bool:
        """Whether it rests on too few to tell."""
        return is_few(self.n)


def cohen_kappa(
    table: ArrayLike,
    weights: Weights | ArrayLike | None = None,
    sessions: Sequence[ArrayLike] = (),
) -> Agreement | None:
    """Return the kappa of two observers; ``None`` where it can't be told.

    ``table``: (k, k) counts, rows the first observer's categories, columns the other's.
    ``weights``: none (Cohen 1960), ``linear`` or ``quadratic`` in the distance of categories, or
    (k, k) disagreement weights of 0 and more (Cohen 1968, Psychological Bulletin 70:213).
    ``sessions``: the same counts session by session, where ratings come in sessions; with fewer
    than two there is no interval. Raises ``ValueError`` where a shape does not fit.
    """
    import numpy as np
    from scipy.stats import t

    counts = np.asarray(table, dtype=np.float64)
    if counts.ndim != 2 or counts.shape[0] != counts.shape[1]:
        raise ValueError(f"expected a square table, found the shape {counts.shape}")
    n = counts.sum()
    if n == 0:
        return None
    shares = counts / n
    agree = 1.0 - _disagreement(len(counts), weights)
    rows, columns = shares.sum(axis=1), shares.sum(axis=0)
    observed = float((agree * shares).sum())
    expected = float((agree * np.outer(rows, columns)).sum())
    if expected > 1.0 - EPSILON:
        return None
    kappa = (observed - expected) / (1.0 - expected)
    # Fleiss, Cohen and Everitt 1969, equation 13: the weights' means over rows and columns
    means = np.add.outer(agree @ columns, rows @ agree)
    adds = agree - means * (1.0 - kappa) - (kappa - expected * (1.0 - kappa))
    adds /= n * (1.0 - expected)
    if not len(sessions):
        variance = float((counts * adds**2).sum())
        half = NormalDist().inv_cdf((1 + CONFIDENCE) / 2) * variance**0.5
    elif len(sessions) == 1:
        return Agreement(kappa, None, None, observed, expected, int(n))
    else:
        sums = np.array([(np.asarray(session) * adds).sum() for session in sessions])
        many = len(sums)
        variance = float((sums**2).sum()) * many / (many - 1)
        half = float(t.ppf((1 + CONFIDENCE) / 2, many - 1)) * variance**0.5
    low, high = max(-1.0, kappa - half), min(1.0, kappa + half)
    return Agreement(kappa, low, high, observed, expected, int(n))


def cross_table(one: Sequence[str], other: Sequence[str], categories: Sequence[str]) -> Floats:
    """Return (k, k) counts of two observers' words for the same things, in the same order."""
    import numpy as np

    place = {word: number for number, word in enumerate(categories)}
    table = np.zeros((len(categories), len(categories)))
    for first, second in zip(one, other, strict=True):
        table[place[first], place[second]] += 1
    return table


def fleiss_kappa(counts: ArrayLike, *, resamples: int = RESAMPLES) -> Agreement | None:
    """Return the kappa of several observers (Fleiss 1971, Psychological Bulletin 76:378).

    ``counts``: (things, categories), how many of the observers chose each; each thing was rated by
    the same number, 2 or more. ``resamples``: for the interval; 0 leaves it out. ``None`` where it
    can't be told. Raises ``ValueError`` where the numbers differ.
    """
    import numpy as np

    table = np.asarray(counts, dtype=np.float64)
    raters = _raters(table)
    found = _fleiss(table, raters)
    if found is None:
        return None
    low, high = _resampled(
        len(table), resamples, lambda rows: (_fleiss(table[rows], raters) or (np.nan,))[0]
    )
    return Agreement(found[0], low, high, found[1], found[2], len(table))


def fleiss_by_category(counts: ArrayLike) -> tuple[float | None, ...]:
    """Return the kappa of each category against all others; ``None`` for one never or always used.

    ``counts`` as for ``fleiss_kappa``.
    """
    import numpy as np

    table = np.asarray(counts, dtype=np.float64)
    raters = _raters(table)
    shares = table.sum(axis=0) / table.sum()
    spread = len(table) * raters * (raters - 1) * shares * (1 - shares)
    disagree = (table * (raters - table)).sum(axis=0)
    return tuple(
        None if below < EPSILON else float(1 - above / below)
        for above, below in zip(disagree, spread, strict=True)
    )


def krippendorff_alpha(
    ratings: ArrayLike, level: Level = "nominal", *, resamples: int = RESAMPLES
) -> Agreement | None:
    """Return Krippendorff's alpha (2011, "Computing Krippendorff's alpha-reliability").

    ``ratings``: (observers, things) numbers, NaN where an observer did not rate one; a thing with
    fewer than two ratings says nothing. ``level``: how far apart two values are: not at all alike
    (``nominal``), by how many ranks (``ordinal``) or by how much (``interval``). ``resamples``: for
    the interval; 0 leaves it out. ``None`` where it can't be told.
    """
    import numpy as np

    table = np.asarray(ratings, dtype=np.float64)
    if table.ndim != 2:
        raise ValueError(f"expected (observers, things), found the shape {table.shape}")
    table = table[:, (~np.isnan(table)).sum(axis=0) >= 2]
    things = table.shape[1]
    if not things:
        return None
    values = np.unique(table[~np.isnan(table)])
    counts = (table[:, :, None] == values).sum(axis=0).astype(np.float64)
    found = _alpha(counts, values, level)
    if found is None:
        return None
    low, high = _resampled(
        things, resamples, lambda rows: (_alpha(counts[rows], values, level) or (np.nan,))[0]
    )
    return Agreement(found[0], low, high, 1 - found[1], 1 - found[2], things)


def _disagreement(categories: int, weights: Weights | ArrayLike | None) -> Floats:
    """Return disagreement weights from 0 to 1."""
    import numpy as np

    places = np.arange(categories)
    apart: Floats = np.abs(places[:, None] - places).astype(np.float64)
    if weights is None:
        return np.where(apart > 0, 1.0, 0.0)
    given: Floats
    if isinstance(weights, str):
        given = apart if weights == "linear" else apart**2
    else:
        given = np.asarray(weights, dtype=np.float64)
        if given.shape != apart.shape or (given < 0).any():
            raise ValueError(
                f"expected weights of 0 and more of the shape {apart.shape}, "
                f"found the shape {given.shape}"
            )
    most = given.max(initial=0.0)
    return np.asarray(given / most) if most > 0 else given


def _raters(table: Floats) -> float:
    raters = table.sum(axis=1)
    if table.ndim != 2 or not len(table) or raters.min() != raters.max() or raters[0] < 2:
        raise ValueError("expected each thing rated by the same number of observers, 2 or more")
    return float(raters[0])


def _fleiss(table: Floats, raters: float) -> tuple[float, float, float] | None:
    """Return (kappa, observed, expected agreement)."""
    shares = table.sum(axis=0) / table.sum()
    observed = float((table * (table - 1)).sum() / (len(table) * raters * (raters - 1)))
    expected = float((shares**2).sum())
    if expected > 1.0 - EPSILON:
        return None
    return (observed - expected) / (1.0 - expected), observed, expected


def _alpha(counts: Floats, values: Floats, level: Level) -> tuple[float, float, float] | None:
    """Return (alpha, observed, expected disagreement); ``counts``: (things, values)."""
    import numpy as np

    per_thing = counts.sum(axis=1)
    totals = counts.sum(axis=0)
    weighted = counts / (per_thing - 1)[:, None]
    together = weighted.T @ counts - np.diag(weighted.sum(axis=0))
    apart = _distance(values, totals, level)
    n = totals.sum()
    observed = float((together * apart).sum() / n)
    expected = float((np.outer(totals, totals) * apart).sum() / (n * (n - 1)))
    if expected < EPSILON:
        return None
    # as shares of the largest distance, so that 1 minus them are agreements from 0 to 1
    most = float(apart.max())
    return 1 - observed / expected, observed / most, expected / most


def _distance(values: Floats, totals: Floats, level: Level) -> Floats:
    import numpy as np

    if level == "nominal":
        return np.where(values[:, None] != values, 1.0, 0.0)
    if level == "interval":
        return np.asarray((values[:, None] - values) ** 2)
    below = np.cumsum(totals) - totals / 2  # the middle of each value's ranks
    return np.asarray((below[:, None] - below) ** 2)


def _resampled(
    things: int, resamples: int, statistic: Callable[[NDArray[np.intp]], float]
) -> tuple[float | None, float | None]:
    """Return the percentile interval of a statistic over seeded resamples of the things."""
    import numpy as np

    if things < 2 or not resamples:
        return None, None
    rng = np.random.default_rng(SEED)
    found = [statistic(rng.integers(0, things, things)) for _ in range(resamples)]
    told = [value for value in found if isfinite(value)]
    if len(told) < resamples / 2:
        return None, None
    low, high = np.percentile(told, [100 * (1 - CONFIDENCE) / 2, 100 * (1 + CONFIDENCE) / 2])
    return float(low), float(high)
