"""One slope by least squares, with groups held fixed.

Rules of this file:

- y = level of the group + level of the factor + slope · x + others + error. Groups are taken out by
  subtracting their means, and what is left of x by the rest is regressed on (Frisch and Waugh 1933,
  Econometrica 1:387): the slope is the same as with a column for each group, in far less memory.
- Given what the values share (``clusters``), its error counts that; else errors are taken as
  independent and of one spread. The interval is Student's, 95 % unless told otherwise.
- A slope that the data can't tell (x does not vary within groups, or nothing is left to judge the
  error by) is ``None``.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING, Literal

from simengine.cohort.clusters import Clusters

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

CONFIDENCE = 0.95
EPSILON = 1e-12

Direction = Literal["up", "down", "either"]


@dataclass(frozen=True, slots=True)
class Slope:
    """What y changes by for each unit of x; ``p`` two-sided for no slope at all.

    ``n`` points in ``groups`` groups leave ``df`` degrees of freedom. ``confidence``: of the
    interval, a fraction of 1.
    """

    value: float
    se: float
    low: float
    high: float
    p: float
    df: float
    n: int
    groups: int
    confidence: float = CONFIDENCE

    @property
    def direction(self) -> Direction:
        """Where it goes: named only where the whole interval lies on one side of none."""
        return "up" if self.low > 0.0 else "down" if self.high < 0.0 else "either"


def slope(
    y: ArrayLike,
    x: ArrayLike,
    *,
    within: Sequence[Hashable] | None = None,
    factor: Sequence[Hashable] | None = None,
    also: Sequence[ArrayLike] = (),
    clusters: Clusters | None = None,
    confidence: float = CONFIDENCE,
) -> Slope | None:
    """Return the slope of ``y`` on ``x``, both of the same length.

    ``within``: each point's group, many of them (persons); ``factor``: another, few (scenarios);
    ``also``: other figures that are held fixed; ``clusters``: what the points share.
    """
    import numpy as np
    from scipy.stats import t

    ys, xs = np.asarray(y, dtype=np.float64), np.asarray(x, dtype=np.float64)
    n = len(ys)
    if n < 3:
        return None
    group = _numbers(within if within is not None else [0] * n)
    groups = int(group.max()) + 1
    others = [np.asarray(column, dtype=np.float64) for column in also]
    if factor is not None:
        level = _numbers(factor)
        others += [
            (level == number).astype(np.float64) for number in range(1, int(level.max()) + 1)
        ]
    sizes = np.bincount(group)

    def centred(values: Floats) -> Floats:
        means = np.bincount(group, values) / sizes
        return np.asarray(values - means[group])

    whole, left = centred(ys), centred(xs)
    rest = whole
    rank = 0
    if others:
        table = np.column_stack([centred(other) for other in others])
        rank = int(np.linalg.matrix_rank(table))
        solved = np.linalg.lstsq(table, np.column_stack([left, whole]), rcond=None)[0]
        left, rest = left - table @ solved[:, 0], whole - table @ solved[:, 1]
    spread = float(left @ left)
    df: float = n - groups - rank - 1
    if df < 1 or spread <= EPSILON * (1.0 + float(xs @ xs)):
        return None
    value = float(left @ rest) / spread
    if clusters is None:
        error = rest - value * left
        se = sqrt(float(error @ error) / df / spread)
    else:

        def basis(rows: NDArray[np.intp]) -> Floats:
            some = np.unique(group[rows], return_inverse=True)[1]
            dummies = np.eye(int(some.max()) + 1)[some]
            return np.column_stack([dummies, *(other[rows] for other in others), xs[rows]])

        variance, freedom = clusters.variances(whole[:, None], left, basis)
        se, df = sqrt(float(variance[0])), min(df, float(freedom[0]))
    half = float(t.ppf((1 + confidence) / 2, df)) * se
    p = 2 * float(t.sf(abs(value) / se, df)) if se > 0 else 0.0
    return Slope(value, se, value - half, value + half, p, df, n, groups, confidence)


def _numbers(names: Sequence[Hashable]) -> NDArray[np.intp]:
    import numpy as np

    number_of: dict[Hashable, int] = {}
    return np.array([number_of.setdefault(name, len(number_of)) for name in names], dtype=np.intp)
