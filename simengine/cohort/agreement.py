"""Agreement of two observers on what they saw: Cohen's kappa.

Rules of this file:

- It has a 95 % interval from its large-sample standard error (Fleiss, Cohen and Everitt 1969,
  Psychological Bulletin 72:323), over sessions instead of single ratings where the ratings come in
  sessions (each session's sum of what its ratings add, Student's t).
- Where all agree on one category alone, chance agreement is 1 and no kappa can be told: ``None``.
- A kappa falls where a category is rare, so the plain share of agreement stands beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

from simengine.cohort.too_few import is_too_few

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

CONFIDENCE = 0.95
EPSILON = 1e-12

Weights = Literal["linear", "quadratic"]


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
        return is_too_few(self.n)


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
