"""Totals of phases, objectives and roles: the session's sum without deductions, for a part of it.

Rules of this file:

- A part's total is Σ weight x credit / Σ weight over what belongs to it and applied; ``None``
  where nothing did.
- An item belongs to its phase and to its objective as a whole. To a role it belongs occasion by
  occasion, each with its share of the item's weight: to the item's ``role``; else to the role
  that did it; what was missed (or only attempted), or has no role recorded, to the team.
- ``repeat``, ``keep`` and ``order`` without a ``role`` belong to the team.
- A part's interval is that of its total over the redraws in which it has one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from simengine.scoring.card import Part
from simengine.scoring.mark import Marked

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

TEAM = "team"

Interval = tuple[float, float]


@dataclass(frozen=True, slots=True)
class PartIntervals:
    """The 90 % interval of the total of each phase, objective and role, by name."""

    phases: Mapping[str, Interval] = field(default_factory=dict)
    objectives: Mapping[str, Interval] = field(default_factory=dict)
    roles: Mapping[str, Interval] = field(default_factory=dict)


NO_INTERVALS = PartIntervals()


def phase_parts(marked: Iterable[Marked], intervals: Mapping[str, Interval]) -> dict[str, Part]:
    """Return the total of each phase in which something applied."""
    rows = (
        (item.plan.guide.phase, item, item.plan.weight, item.credit)
        for item in marked
        if item.credit is not None
    )
    return _parts(rows, intervals)


def objective_parts(marked: Iterable[Marked], intervals: Mapping[str, Interval]) -> dict[str, Part]:
    """Return the total of each objective for which something applied."""
    rows = (
        (item.plan.item.objective, item, item.plan.weight, item.credit)
        for item in marked
        if item.credit is not None and item.plan.item.objective is not None
    )
    return _parts(rows, intervals)


def role_parts(marked: Iterable[Marked], intervals: Mapping[str, Interval]) -> dict[str, Part]:
    """Return the total of each role, and of the team as a whole for what is nobody's."""
    return _parts(role_rows(marked), intervals)


def part_intervals(
    marked: Sequence[Marked],
    table: NDArray[np.float64],
    roles: Mapping[str, NDArray[np.float64]],
) -> PartIntervals:
    """Return the intervals of the parts over the redraws.

    ``table``: the credit of each item (column) in each redraw, not a number where it is not
    reached; ``roles``: the totals of each role.
    """
    import numpy as np

    weight = np.array([item.plan.weight for item in marked])
    weights = np.where(np.isnan(table), 0.0, weight)
    got = np.nan_to_num(table) * weight

    def over(names: Sequence[str | None]) -> dict[str, Interval]:
        out = {}
        for name in dict.fromkeys(names):
            mine = [place for place, other in enumerate(names) if other == name]
            whole = weights[:, mine].sum(axis=1)
            totals = got[:, mine].sum(axis=1)[whole > 0.0] / whole[whole > 0.0]
            if name is not None and len(totals):
                out[name] = interval_of(totals)
        return out

    return PartIntervals(
        over([item.plan.guide.phase for item in marked]),
        over([item.plan.item.objective for item in marked]),
        {role: interval_of(totals) for role, totals in roles.items()},
    )


def interval_of(totals: Sequence[float] | NDArray[np.float64]) -> Interval:
    """Return the 5th and 95th percentiles, linear."""
    import numpy as np

    low, high = np.percentile(totals, [5.0, 95.0])
    return float(low), float(high)


def role_rows(marked: Iterable[Marked]) -> Iterator[tuple[str, Marked, float, float]]:
    """Yield (role, item, weight, credit) of what each role did, see the rules of this file."""
    for item in marked:
        if item.credit is None:
            continue
        own = item.plan.item.role
        reached = (
            [occasion for occasion in item.occasions if occasion.reached] if own is None else None
        )
        if not reached:
            yield own or TEAM, item, item.plan.weight, item.credit
            continue
        for occasion in reached:
            role = occasion.match.run.source.role if occasion.match is not None else None
            yield role or TEAM, item, item.plan.weight / len(reached), occasion.credit


def _parts(
    rows: Iterable[tuple[str | None, Marked, float, float | None]],
    intervals: Mapping[str, Interval],
) -> dict[str, Part]:
    sums: dict[str, tuple[float, float, dict[int, Marked]]] = {}
    for name, item, weight, credit in rows:
        assert name is not None
        assert credit is not None
        got, weights, items = sums.get(name, (0.0, 0.0, {}))
        items[item.plan.index] = item
        sums[name] = (got + weight * credit, weights + weight, items)
    return {
        name: Part(
            got / weights if weights else None,
            len(items),
            weights,
            intervals.get(name),
            sum(marked.unrecorded for marked in items.values()),
        )
        for name, (got, weights, items) in sums.items()
    }
