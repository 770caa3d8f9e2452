"""The chance that the next attempt meets the standard, from the attempts so far.

Rules of this file:

- Attempts are taken as alike and independent: what is met m times in n has the chance θ each time.
- Before any attempt θ is spread as Jeffreys' Beta(½, ½) (Jeffreys 1946, Proceedings of the Royal
  Society A 186:453), which favours no value and leaves the data to speak; afterwards as
  Beta(m + ½, n - m + ½). Its mean is the chance for the next attempt.
- The interval is equal-tailed and 90 %: a person is judged by few attempts, and the wider one would
  rarely tell anything. It is a statement about θ, not about the next outcome.
- *Likely to meet it* means on every page: at least 95 % sure that θ is above one half, which is
  where the 90 % interval lies wholly above one half; *not yet likely*: wholly below it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

JEFFREYS = 0.5
CONFIDENCE = 0.90
TARGET = 0.50
"""Somebody is likely to meet the standard whose chance is above one half."""
SURE = 0.95
"""How sure that has to be before it is said: said wrongly in one of twenty at most."""

Likely = Literal["likely", "not likely", "could be either"]


@dataclass(frozen=True, slots=True)
class Chance:
    """The chance that the next attempt meets the standard. Fractions of 1.

    ``above_target``: how sure it is that the chance is above ``target``.
    """

    met: int
    attempts: int
    mean: float
    low: float
    high: float
    target: float
    above_target: float

    @property
    def verdict(self) -> Likely:
        """Whether the next attempt is likely to meet the standard: one meaning everywhere."""
        if self.above_target >= SURE:
            return "likely"
        return "not likely" if self.above_target <= 1.0 - SURE else "could be either"


@lru_cache(maxsize=10_000)
def next_attempt(
    met: int,
    attempts: int,
    *,
    target: float = TARGET,
    prior: float = JEFFREYS,
    confidence: float = CONFIDENCE,
) -> Chance:
    """Return the chance after ``met`` of ``attempts``; ``prior`` is both shapes of the Beta prior.

    Raises ``ValueError`` where ``met`` is not between 0 and ``attempts``.
    """
    if not 0 <= met <= attempts:
        raise ValueError(f"expected 0 <= met <= attempts, found {met} of {attempts}")
    from scipy.special import betaincc, betaincinv

    a, b = met + prior, attempts - met + prior
    return Chance(
        met,
        attempts,
        a / (a + b),
        float(betaincinv(a, b, (1 - confidence) / 2)),
        float(betaincinv(a, b, (1 + confidence) / 2)),
        target,
        float(betaincc(a, b, target)),
    )
