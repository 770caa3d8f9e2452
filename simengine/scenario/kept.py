"""What is worked out of a scenario is kept beside it, for the scenarios that were used last.

Rules of this file:

- There is one bound for all that is kept, so that a scenario comes and goes with all of it. Whoever
  takes up many sessions takes them scenario by scenario, and so works out each thing once however
  many scenarios there are.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from simengine.scenario.model import Scenario

_T = TypeVar("_T")

KEPT = 32
"""So many scenarios are kept."""


def kept_by_scenario(make: Callable[[Scenario], _T]) -> Callable[[Scenario], _T]:
    """Have what ``make`` makes of a scenario made once, for that very object."""
    kept: dict[int, tuple[Scenario, _T]] = {}

    @wraps(make)
    def kept_or_made(scenario: Scenario) -> _T:
        of_it = kept.get(id(scenario))
        if of_it is None or of_it[0] is not scenario:
            if len(kept) >= KEPT:
                kept.pop(next(iter(kept)))
            of_it = kept[id(scenario)] = (scenario, make(scenario))
        return of_it[1]

    return kept_or_made
