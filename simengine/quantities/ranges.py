"""Ranges of one number.

Rules of this file:

- A range is held in one unit, the one that its owner (a setting, an observation …) names.
- Ends compare within 1e-9 of their size, so that a converted unit does not miss its own limit.
- ``contains`` is what a condition asks: an open end met exactly is outside.
- ``distance`` is what a credit asks: an open end met exactly is inside.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf

CLOSE = 1e-9


@dataclass(frozen=True, slots=True)
class Range:
    """A range from ``low`` to ``high``; an end that is not given is infinite.

    ``text`` is the range as a person wrote it, ``protocol`` the name of the protocol value that it
    came from, and ``reference`` all that was asked of that value; ``bare``: one quantity was
    written, and what lies beside it is tolerance. None takes part in comparisons.
    """

    low: float = -inf
    high: float = inf
    low_open: bool = False
    high_open: bool = False
    text: str = field(default="", compare=False)
    protocol: str | None = field(default=None, compare=False)
    reference: str = field(default="", compare=False)
    bare: bool = field(default=False, compare=False, metadata={"digest": "counts"})

    def contains(self, value: float) -> bool:
        """Whether ``value`` lies in the range, open ends excluded."""
        return self._above_low(value) and self._below_high(value)

    def distance(self, value: float) -> float:
        """How far ``value`` lies outside the range: 0 inside and at both ends, open or not."""
        if value < self.low:
            gap = self.low - value
            return 0.0 if gap <= CLOSE * abs(self.low) else gap
        if value > self.high:
            gap = value - self.high
            return 0.0 if gap <= CLOSE * abs(self.high) else gap
        return 0.0

    def _above_low(self, value: float) -> bool:
        if self.low == -inf:
            return True
        slack = CLOSE * abs(self.low)
        return value > self.low + slack if self.low_open else value >= self.low - slack

    def _below_high(self, value: float) -> bool:
        if self.high == inf:
            return True
        slack = CLOSE * abs(self.high)
        return value < self.high - slack if self.high_open else value <= self.high + slack
