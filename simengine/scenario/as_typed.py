"""A baby's gestation and weight as somebody types them, and what is to be asked about them.

Rules of this file:

- Whole weeks need no unit, and days come after a plus: ``39``, ``39w``, ``39+3``.
- A weight without a unit is in grams from ``GRAMS_FROM`` on, and in kilograms below: ``3400``,
  ``3.4``.
- What the vocabulary does not call plausible is asked about and never refused.
"""

from __future__ import annotations

import re

from simengine.quantities import parse_in, parse_quantity
from simengine.quantities.formatting import gestation as gestation_words
from simengine.quantities.formatting import weight as weight_words
from simengine.scenario.model import Infant
from simengine.scenario.vocabulary import Vocabulary

GRAMS_FROM = 100.0

_WEEKS = re.compile(r"(\d{1,3})\s*(?:w|wks?|weeks?)?", re.IGNORECASE)
_WEEKS_AND_DAYS = re.compile(
    r"(\d{1,3})\s*(?:w|wks?|weeks?)?\s*\+\s*([0-6])(?:\s*/\s*7)?\s*(?:d|days?|w|wks?|weeks?)?",
    re.IGNORECASE,
)
_BARE = re.compile(r"\d+(?:\.\d+)?")


def typed_gestation(text: str) -> float:
    """Read a gestation in days. Raises ``QuantityError``."""
    tidy = text.strip()
    if match := _WEEKS_AND_DAYS.fullmatch(tidy):
        return 7.0 * int(match[1]) + int(match[2])
    if match := _WEEKS.fullmatch(tidy):
        return 7.0 * int(match[1])
    return parse_quantity(tidy, "wk").to("d").value


def typed_weight(text: str) -> float:
    """Read a weight in grams. Raises ``QuantityError``."""
    tidy = text.strip().replace(",", ".")
    if _BARE.fullmatch(tidy):
        tidy = f"{tidy} {'g' if float(tidy) >= GRAMS_FROM else 'kg'}"
    return parse_in(tidy, "g")


def questions(infant: Infant, vocabulary: Vocabulary) -> tuple[str, ...]:
    """Return what is to be asked of somebody who typed this baby, in words."""
    plausible = vocabulary.infant
    if plausible is None:
        return ()
    doubts = []
    if not plausible.gestation.contains(infant.gestation_days):
        words = gestation_words(infant.gestation_days)
        doubts.append(f"A gestation of {words}? It is usually {plausible.gestation.text}.")
    if not plausible.weight.contains(infant.weight_g):
        words = weight_words(infant.weight_g)
        doubts.append(f"A weight of {words}? It is usually {plausible.weight.text}.")
    return tuple(doubts)
