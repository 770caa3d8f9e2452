"""The few statistics that a pilot needs.

Rules of this file:

- What can't be told from the numbers (no spread, nobody) is ``None``, never 0.
- Quartiles are linear between the values in order, as numpy's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist, fmean


@dataclass(frozen=True, slots=True)
class Spread:
    """How some numbers spread: how many, the least, quartiles, the largest; in their own unit."""

    count: int
    least: float
    lower: float
    median: float
    upper: float
    largest: float


def spread(values: Sequence[float]) -> Spread | None:
    """Return how ``values`` spread; ``None`` if there are none."""
    if not values:
        return None
    ordered = sorted(values)
    return Spread(
        len(ordered),
        ordered[0],
        _quantile(ordered, 0.25),
        _quantile(ordered, 0.5),
        _quantile(ordered, 0.75),
        ordered[-1],
    )


def _quantile(ordered: Sequence[float], share: float) -> float:
    place = share * (len(ordered) - 1)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)


def area_under_curve(low: Sequence[float], high: Sequence[float]) -> float | None:
    """Return the chance that one of ``high`` lies above one of ``low``, ties counted half.

    It is the area under the receiver operating characteristic (Hanley and McNeil 1982, from
    memory), worked out from ranks; ``None`` if either is empty.
    """
    if not low or not high:
        return None
    ranks = _ranks([*low, *high])
    of_high = sum(ranks[len(low) :])
    return (of_high - len(high) * (len(high) + 1) / 2) / (len(low) * len(high))


def _ranks(values: Sequence[float]) -> list[float]:
    """Ranks from 1 on; equal values share the mean of theirs."""
    order = sorted(range(len(values)), key=lambda index: values[index])
    ranks = [0.0] * len(values)
    first = 0
    while first < len(order):
        last = first
        while last + 1 < len(order) and values[order[last + 1]] == values[order[first]]:
            last += 1
        for place in range(first, last + 1):
            ranks[order[place]] = (first + last) / 2 + 1
        first = last + 1
    return ranks


def correlation(one: Sequence[float], other: Sequence[float]) -> float | None:
    """Return Pearson's correlation: the point-biserial one where ``one`` is 0 or 1.

    ``None`` with fewer than two pairs, or where either does not vary.
    """
    if len(one) < 2:
        return None
    middle, other_middle = fmean(one), fmean(other)
    pairs = [(a - middle, b - other_middle) for a, b in zip(one, other, strict=True)]
    spread_one = sum(a * a for a, _ in pairs)
    spread_other = sum(b * b for _, b in pairs)
    if spread_one < 1e-18 or spread_other < 1e-18:
        return None
    return sum(a * b for a, b in pairs) / sqrt(spread_one * spread_other)


def wilson(successes: int, trials: int, *, confidence: float = 0.95) -> tuple[float, float] | None:
    """Return the score interval of a share (Wilson 1927, from memory); ``None`` without trials."""
    if not trials:
        return None
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    share = successes / trials
    middle = share + z * z / (2 * trials)
    half = z * sqrt(share * (1 - share) / trials + z * z / (4 * trials * trials))
    below = 1 + z * z / trials
    return (max(0.0, (middle - half) / below), min(1.0, (middle + half) / below))
