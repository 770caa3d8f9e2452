"""Agreement of observers on what they measured: ICC, and limits of agreement.

Rules of this file:

- The six intraclass correlations are those of Shrout and Fleiss 1979 (Psychological Bulletin
  86:420), with their intervals from F. (1,1): each thing by other observers; (2,1): by the same
  ones, drawn at random, whose leanings count; (3,1): by these ones alone, whose leanings do not.
  With k they are of the mean of k observers. Which one is told is said beside it.
- Limits of agreement are those of Bland and Altman (1986, Lancet i:307; 1999, Statistical Methods
  in Medical Research 8:135): mean difference ± 1.96 standard deviations. Their intervals are the
  authors' own approximation; with few pairs they are wide, and that is said by them.
- Differences are the first observer's figure less the other's, in the unit of the figures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

from simengine.cohort.too_few import is_too_few

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

CONFIDENCE = 0.95
EPSILON = 1e-12

Form = Literal["1,1", "2,1", "3,1", "1,k", "2,k", "3,k"]
FORMS: tuple[Form, ...] = ("1,1", "2,1", "3,1", "1,k", "2,k", "3,k")


@dataclass(frozen=True, slots=True)
class Intraclass:
    """An intraclass correlation and its interval; how many things and observers it rests on."""

    form: Form
    value: float
    low: float
    high: float
    things: int
    observers: int

    @property
    def few(self) -> bool:
        """Whether it rests on too few things to tell."""
        return is_too_few(self.things)


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of agreement of ``n`` pairs; everything in the unit measured, intervals are 95 %.

    ``bias``: the mean difference; 95 % of differences are expected between ``low`` and ``high``.
    """

    n: int
    bias: float
    sd: float
    bias_interval: tuple[float, float]
    low: float
    low_interval: tuple[float, float]
    high: float
    high_interval: tuple[float, float]

    @property
    def few(self) -> bool:
        """Whether it rests on too few pairs to tell."""
        return is_too_few(self.n)


def intraclass(
    measured: ArrayLike, confidence: float = CONFIDENCE
) -> dict[Form, Intraclass] | None:
    """Return the six intraclass correlations.

    ``measured``: (things, observers) figures without a gap. ``None`` with fewer than two things or
    observers, or where nothing varies between things. Raises ``ValueError`` where
    the shape does not fit or a figure is missing.
    """
    import numpy as np
    from scipy.stats import f

    table = np.asarray(measured, dtype=np.float64)
    if table.ndim != 2 or np.isnan(table).any():
        raise ValueError("expected (things, observers) figures without a gap")
    n, k = table.shape
    if n < 2 or k < 2:
        return None
    things, observers, whole = table.mean(axis=1), table.mean(axis=0), table.mean()
    between = k * float(((things - whole) ** 2).sum()) / (n - 1)
    within = float(((table - things[:, None]) ** 2).sum()) / (n * (k - 1))
    leaning = n * float(((observers - whole) ** 2).sum()) / (k - 1)
    rest = table - things[:, None] - observers + whole
    error = float((rest**2).sum()) / ((n - 1) * (k - 1))
    scale = EPSILON * (1.0 + float((table**2).mean()))
    if between <= scale:
        return None
    within, error = max(within, scale), max(error, scale)  # observers who never differ agree by 1

    def ends(ratio: float, below: float) -> tuple[float, float]:
        upper = (1 + confidence) / 2
        low = ratio / float(f.ppf(upper, n - 1, below))
        return low, ratio * float(f.ppf(upper, below, n - 1))

    one_way = (between - within) / (between + (k - 1) * within)
    two = (between - error) / (between + (k - 1) * error + k * (leaning - error) / n)
    two_k = (between - error) / (between + (leaning - error) / n)
    three = (between - error) / (between + (k - 1) * error)
    one_low, one_high = ends(between / within, n * (k - 1))
    three_low, three_high = ends(between / error, (n - 1) * (k - 1))
    two_low, two_high = _two_ends(n, k, between, leaning, error, two, confidence)
    by_form: dict[Form, tuple[float, float, float]] = {
        "1,1": (one_way, (one_low - 1) / (one_low + k - 1), (one_high - 1) / (one_high + k - 1)),
        "2,1": (two, two_low, two_high),
        "3,1": (
            three,
            (three_low - 1) / (three_low + k - 1),
            (three_high - 1) / (three_high + k - 1),
        ),
        "1,k": ((between - within) / between, 1 - 1 / one_low, 1 - 1 / one_high),
        "2,k": (two_k, _of_mean(two_low, k), _of_mean(two_high, k)),
        "3,k": ((between - error) / between, 1 - 1 / three_low, 1 - 1 / three_high),
    }
    return {form: Intraclass(form, *by_form[form], things=n, observers=k) for form in FORMS}


def limits_of_agreement(
    one: Sequence[float], other: Sequence[float], confidence: float = CONFIDENCE
) -> Limits | None:
    """Return the limits of agreement of pairs of figures; ``None`` of fewer than two pairs.

    Raises ``ValueError`` where the sequences have different lengths.
    """
    import numpy as np
    from scipy.stats import t

    if len(one) != len(other):
        raise ValueError(f"expected as many figures, found {len(one)} and {len(other)}")
    n = len(one)
    if n < 2:
        return None
    difference = np.subtract(one, other, dtype=np.float64)
    bias, sd = float(difference.mean()), float(difference.std(ddof=1))
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    spread = float(t.ppf((1 + confidence) / 2, n - 1)) * sd
    of_bias = spread / sqrt(n)
    of_limit = spread * sqrt(1 / n + z**2 / (2 * (n - 1)))
    low, high = bias - z * sd, bias + z * sd
    return Limits(
        n,
        bias,
        sd,
        (bias - of_bias, bias + of_bias),
        low,
        (low - of_limit, low + of_limit),
        high,
        (high - of_limit, high + of_limit),
    )


def _two_ends(
    n: int, k: int, between: float, leaning: float, error: float, two: float, confidence: float
) -> tuple[float, float]:
    """Return the interval of ICC(2,1): Shrout and Fleiss 1979, after Fleiss and Shrout 1978."""
    from scipy.stats import f

    ratio = leaning / error
    weight = n * (1 + (k - 1) * two) - k * two
    freedom = (k - 1) * (n - 1) * (k * two * ratio + weight) ** 2
    freedom /= (n - 1) * k**2 * two**2 * ratio**2 + weight**2
    upper = (1 + confidence) / 2
    over = float(f.ppf(upper, n - 1, freedom))
    under = float(f.ppf(upper, freedom, n - 1))
    rest = k * leaning + (k * n - k - n) * error
    low = n * (between - over * error) / (over * rest + n * between)
    high = n * (under * between - error) / (rest + n * under * between)
    return low, high


def _of_mean(value: float, k: int) -> float:
    """Return the reliability of the mean of k, from that of one (Spearman and Brown)."""
    return k * value / (1 + (k - 1) * value)
