"""The credits of sessions of one scenario as a table: sessions down, items across.

Rules of this file:

- What was not reached is NaN: nobody knows what it would have been.
- ``avoid`` items have no credit and no column.
- Columns stand in the order of the marking guide, as items first appear in the results.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import nan
from typing import TYPE_CHECKING

from simengine.cohort.records import ItemResult, SessionResult
from simengine.scenario.kinds import CLASSES

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class CreditTable:
    """``credits``: (sessions, items), fractions of 1. ``items``: one of each, for its words."""

    items: tuple[ItemResult, ...]
    credits: Floats


def credit_table(results: Iterable[SessionResult]) -> CreditTable:
    """Return the credits of sessions, which should be of one scenario."""
    import numpy as np

    items: dict[str, ItemResult] = {}
    rows: list[dict[str, float]] = []
    for result in results:
        row = {}
        for item in result.items:
            if CLASSES[item.kind].credited:
                items.setdefault(item.id, item)
                row[item.id] = nan if item.credit is None else item.credit
        rows.append(row)
    table = np.array([[row.get(name, nan) for name in items] for row in rows], dtype=np.float64)
    return CreditTable(tuple(items.values()), table.reshape(len(rows), len(items)))


def complete(table: CreditTable, asked: float = 0.9) -> CreditTable:
    """Return the largest part without gaps that a simple rule finds.

    Items that were reached in at least the share ``asked`` of the sessions, and of the sessions
    those that reached all of these.
    """
    import numpy as np

    there = ~np.isnan(table.credits)
    if not there.size:
        return table
    columns = there.mean(axis=0) >= asked
    rows = there[:, columns].all(axis=1)
    kept = tuple(item for item, keep in zip(table.items, columns, strict=True) if keep)
    return CreditTable(kept, table.credits[rows][:, columns])
