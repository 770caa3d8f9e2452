"""How reliable a marking guide is: internal consistency and generalizability.

Rules of this file:

- What is measured is a session (the team on that day), by the guide's items, all of one weight.
- Alpha is Cronbach's (1951, Psychometrika 16:297), its interval Feldt's (1965, Psychometrika
  30:357) from F. It equals the generalizability coefficient of sessions × items for relative
  decisions; dependability is for a fixed pass mark, where the items' difficulty counts too.
- Components are from the two-way mean squares with one observation in a cell (Brennan 2001,
  Generalizability Theory, chapter 3). One below 0 is told as 0: nothing of it can be seen.
- Alpha says whether items agree within a session. It says nothing of another day or scenario.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from simengine.cohort.credit_table import complete, credit_table
from simengine.cohort.records import SessionResult
from simengine.cohort.too_few import is_too_few

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

CONFIDENCE = 0.95
EPSILON = 1e-12


@dataclass(frozen=True, slots=True)
class Reliability:
    """The reliability of ``items`` items over ``sessions`` sessions.

    ``of_session``, ``of_item``, ``rest``: variance components of a single credit (squares of
    fractions of 1). ``total_sd`` and ``sem`` (standard error of measurement) are of the sum of
    credits, in items; divided by ``items`` they are fractions of 1.
    """

    sessions: int
    items: int
    alpha: float
    low: float
    high: float
    dependability: float
    of_session: float
    of_item: float
    rest: float
    total_sd: float
    sem: float

    @property
    def few(self) -> bool:
        """Whether it rests on too few sessions to tell."""
        return is_too_few(self.sessions)


@dataclass(frozen=True, slots=True)
class GuideReliability:
    """The reliability of a scenario's guide, and what had to be left out for want of credits.

    ``reliability`` is ``None`` where it can't be told.
    """

    reliability: Reliability | None
    items_left_out: tuple[str, ...]
    sessions_left_out: int


def reliability(credits_: ArrayLike, confidence: float = CONFIDENCE) -> Reliability | None:
    """Return the reliability of (sessions, items) credits without a gap.

    ``None`` with fewer than two of either, or where sessions do not differ. Raises ``ValueError``
    where the shape does not fit or a credit is missing.
    """
    import numpy as np
    from scipy.stats import f

    table = np.asarray(credits_, dtype=np.float64)
    if table.ndim != 2 or np.isnan(table).any():
        raise ValueError("expected (sessions, items) credits without a gap")
    n, k = table.shape
    if n < 2 or k < 2:
        return None
    sessions, items, whole = table.mean(axis=1), table.mean(axis=0), table.mean()
    between = k * float(((sessions - whole) ** 2).sum()) / (n - 1)
    across = n * float(((items - whole) ** 2).sum()) / (k - 1)
    left = table - sessions[:, None] - items + whole
    rest = float((left**2).sum()) / ((n - 1) * (k - 1))
    if between < EPSILON:
        return None
    alpha = 1 - rest / between
    freedom = (n - 1, (n - 1) * (k - 1))
    upper = (1 + confidence) / 2
    of_session = max(0.0, (between - rest) / k)
    of_item = max(0.0, (across - rest) / n)
    spread = of_session + (of_item + rest) / k
    total_sd = float(table.sum(axis=1).std(ddof=1))
    return Reliability(
        sessions=n,
        items=k,
        alpha=alpha,
        low=1 - (1 - alpha) * float(f.ppf(upper, *freedom)),
        high=1 - (1 - alpha) * float(f.ppf(1 - upper, *freedom)),
        dependability=of_session / spread if spread else 0.0,
        of_session=of_session,
        of_item=of_item,
        rest=rest,
        total_sd=total_sd,
        sem=total_sd * sqrt(min(1.0, 1 - alpha)),
    )


def guide_reliability(results: Iterable[SessionResult]) -> GuideReliability:
    """Return the reliability of the guide over sessions of one scenario."""
    every = credit_table(results)
    whole = complete(every)
    kept = {item.id for item in whole.items}
    return GuideReliability(
        reliability(whole.credits) if whole.credits.size else None,
        tuple(item.id for item in every.items if item.id not in kept),
        len(every.credits) - len(whole.credits),
    )
