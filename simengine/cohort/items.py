"""Which items of a guide are hard, which tell sessions apart, and which fail together.

Rules of this file:

- Sessions are of one scenario. A session in which an item was not reached is not in its figures.
- Difficulty is told by the mean credit, with Student's interval; an item *fails* where its credit
  is below one half, and that share has Wilson's.
- Sessions share days and people, which the intervals count (``clusters``); and those of all items
  of the guide hold at once, so that they hold for whichever are picked.
- Discrimination is the correlation of an item's credit with the mean credit of the session's other
  items (corrected: the item is not part of what it is compared with; Henrysson 1963, Psychometrika
  28:211), its interval by the z transformation. ``None`` where either does not vary: that an item
  always succeeds is no fault of it.
- Pairs are compared by phi on failing, with the exact two-sided p of a 2 × 2 table, or that of the
  same covariance with days and people counted, whichever is larger; q allows for the number of
  pairs (Benjamini and Hochberg 1995, Journal of the Royal Statistical Society B 57:289). It is a
  search, not a finding: what it shows is to be looked for again in later sessions.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import atanh, sqrt, tanh
from statistics import NormalDist
from typing import TYPE_CHECKING

from simengine.cohort.clusters import Clusters, shares_of
from simengine.cohort.credit_table import CreditTable, credit_table
from simengine.cohort.records import SessionResult
from simengine.cohort.shares import CONFIDENCE, Mean, Share, mean_share, together, wilson
from simengine.cohort.too_few import FEW, is_too_few
from simengine.scenario.kinds import CLASSES

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

FAILS_BELOW = 0.5
EPSILON = 1e-12


@dataclass(frozen=True, slots=True)
class Correlation:
    """A correlation from -1 to 1 of ``n`` pairs; no interval with fewer than four."""

    n: int
    value: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class ItemStatistics:
    """One item over ``n`` sessions in which it was reached. Credits are fractions of 1."""

    id: str
    title: str
    importance: str
    n: int
    credit: Mean | None
    failed: Share | None
    with_cue: Share | None
    discrimination: Correlation | None

    @property
    def few(self) -> bool:
        """Whether it was reached in too few sessions to tell."""
        return is_too_few(self.n)


@dataclass(frozen=True, slots=True)
class Pair:
    """Two items, and in how many sessions both failed, one alone, the other alone, neither.

    ``phi`` from -1 to 1; ``p`` two-sided and exact; ``q`` for the number of pairs looked at.
    """

    one: str
    other: str
    both: int
    only_one: int
    only_other: int
    neither: int
    phi: float
    p: float
    q: float

    @property
    def n(self) -> int:
        """In how many sessions both items were reached."""
        return self.both + self.only_one + self.only_other + self.neither


def item_statistics(results: Iterable[SessionResult]) -> tuple[ItemStatistics, ...]:
    """Return every item of the guide, in its order, over sessions of one scenario."""
    import numpy as np

    sessions = list(results)
    table = credit_table(sessions)
    sure = together(len(table.items))
    clusters = Clusters(shares_of(session) for session in sessions)
    known = np.where(np.isnan(table.credits), np.nan, 1.0)
    worths = clusters.worths(table.credits, sure)
    failing = clusters.worths(known * (table.credits < FAILS_BELOW), sure)
    prompts: dict[str, int] = {}
    for result in sessions:
        for item in result.items:
            if item.with_cue and item.credit is not None and CLASSES[item.kind].credited:
                prompts[item.id] = prompts.get(item.id, 0) + 1
    out = []
    for place, item in enumerate(table.items):
        column = table.credits[:, place]
        there = column[~np.isnan(column)]
        n = len(there)
        out.append(
            ItemStatistics(
                item.id,
                item.title,
                item.importance,
                n,
                mean_share(there.tolist(), sure, float(worths[place])),
                wilson(int((there < FAILS_BELOW).sum()), n, sure, float(failing[place])),
                wilson(prompts.get(item.id, 0), n, sure, float(worths[place])),
                discrimination(table.credits, place, sure, n / max(float(worths[place]), 1.0)),
            )
        )
    return tuple(out)


def discrimination(
    credits_: Floats, place: int, confidence: float = CONFIDENCE, effect: float = 1.0
) -> Correlation | None:
    """Return how an item's credit goes with the mean credit of the others.

    ``credits_``: (sessions, items), NaN where not reached; ``place``: the item's column;
    ``effect``: how many sessions are worth one independent session.
    """
    import numpy as np

    column = credits_[:, place]
    others = np.delete(credits_, place, axis=1)
    known = ~np.isnan(others)
    rows = ~np.isnan(column) & known.any(axis=1)
    if not rows.any():
        return None
    sums = np.where(known, others, 0.0).sum(axis=1)
    rest = sums[rows] / known.sum(axis=1)[rows]
    return correlation(column[rows], rest, confidence, effect)


def correlation(
    one: Floats, other: Floats, confidence: float = CONFIDENCE, effect: float = 1.0
) -> Correlation | None:
    """Return Pearson's correlation: the point-biserial one where a side is 0 or 1.

    ``None`` with fewer than two pairs, or where a side does not vary.
    """
    import numpy as np
    from scipy.stats import pearsonr

    if len(one) < 2 or np.ptp(one) < EPSILON or np.ptp(other) < EPSILON:
        return None
    if len(one) == 2:  # a line goes through any two points
        return Correlation(2, float(np.sign((one[1] - one[0]) * (other[1] - other[0]))), None, None)
    result = pearsonr(one, other)
    value = float(result.statistic)
    worth = len(one) / effect
    if worth < 4 or abs(value) > 1 - EPSILON:
        return Correlation(len(one), value, None, None)
    half = NormalDist().inv_cdf((1 + confidence) / 2) / sqrt(worth - 3)
    return Correlation(len(one), value, tanh(atanh(value) - half), tanh(atanh(value) + half))


def fail_together(results: Iterable[SessionResult], least: int = FEW) -> tuple[Pair, ...]:
    """Return pairs of items by how surely they fail together (or in each other's place).

    Over sessions of one scenario; pairs that were reached together in fewer than ``least``
    sessions, or of which one never or always failed, are left out.
    """
    import numpy as np
    from scipy.stats import false_discovery_control

    sessions = list(results)
    table = credit_table(sessions)
    if not table.credits.size:
        return ()
    known = ~np.isnan(table.credits)
    failed = np.where(known, table.credits < FAILS_BELOW, False).astype(np.int64)
    done = (known & (table.credits >= FAILS_BELOW)).astype(np.int64)
    both, alone = failed.T @ failed, failed.T @ done
    neither = done.T @ done
    pairs = []
    for number in range(len(table.items)):
        for other in range(number + 1, len(table.items)):
            counts = (
                int(both[number, other]),
                int(alone[number, other]),
                int(alone[other, number]),
                int(neither[number, other]),
            )
            value = phi(counts)
            if value is None or sum(counts) < least:
                continue
            p = exact_p(counts)
            names = (table.items[number].id, table.items[other].id)
            pairs.append(Pair(*names, *counts, value, p, p))
    if not pairs:
        return ()
    pairs = _with_clusters(pairs, table, Clusters(shares_of(session) for session in sessions))
    adjusted = false_discovery_control([pair.p for pair in pairs])
    corrected = (replace(pair, q=float(q)) for pair, q in zip(pairs, adjusted, strict=True))
    return tuple(sorted(corrected, key=lambda pair: (pair.q, pair.p, -abs(pair.phi))))


def _with_clusters(pairs: Sequence[Pair], table: CreditTable, clusters: Clusters) -> list[Pair]:
    """Return the pairs, those that chance may not explain with days and people counted too."""
    import numpy as np
    from scipy.stats import t

    place = {item.id: number for number, item in enumerate(table.items)}
    likely = [pair for pair in pairs if pair.p <= 1.0 - CONFIDENCE and pair.phi > 0.0]
    if not likely or not clusters.parts:
        return list(pairs)
    failed = np.where(np.isnan(table.credits), np.nan, table.credits < FAILS_BELOW)
    gap = failed - np.nanmean(failed, axis=0)
    both = np.column_stack([gap[:, place[pair.one]] * gap[:, place[pair.other]] for pair in likely])
    both = np.nan_to_num(both)
    variance, df = clusters.of_means(both)
    ratio = abs(both.mean(axis=0)) / np.sqrt(np.maximum(variance, EPSILON))
    p_values = np.asarray(2.0 * t.sf(ratio, df)).tolist()
    larger = {
        (pair.one, pair.other): max(pair.p, p) for pair, p in zip(likely, p_values, strict=True)
    }
    return [replace(pair, p=larger.get((pair.one, pair.other), pair.p)) for pair in pairs]


def phi(counts: Sequence[int]) -> float | None:
    """Return phi of (both, one alone, the other alone, neither); ``None`` if one does not vary.

    Pearson's correlation of two things that are or are not (Yule 1912, from memory).
    """
    both, first, other, neither = counts
    below = (both + first) * (other + neither) * (both + other) * (first + neither)
    return None if below == 0 else (both * neither - first * other) / sqrt(below)


@lru_cache(maxsize=10_000)
def exact_p(counts: tuple[int, int, int, int]) -> float:
    """Return the two-sided p that (both, one alone, the other alone, neither) are independent.

    The chance, with the margins as they are, of a table that is no more likely than this one. Of
    one session at least.
    """
    import numpy as np
    from scipy.stats import hypergeom

    both, first, other, neither = counts
    margins = (sum(counts), both + first, both + other)
    tables = np.arange(max(0, both - neither), both + min(first, other) + 1)
    chances = hypergeom.pmf(tables, *margins)
    this = chances[both - tables[0]]
    return float(min(1.0, chances[chances <= this * (1 + 1e-7)].sum()))
