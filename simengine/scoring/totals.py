"""Totals of phases, objectives and roles: the session's sum without deductions, for a part of it.

Rules of this file:

- A part's total is Σ weight x credit / Σ weight over what belongs to it and applied; ``None``
  where nothing did.
- An item belongs to its phase and to its objective as a whole. To a role it belongs occasion by
  occasion, each with its share of the item's weight: to the item's ``role``; else to the role
  that did it; what was missed (or only attempted), or has no role recorded, to the team.
- ``repeat``, ``keep`` and ``order`` without a ``role`` belong to the team.
"""

from __future__ import annotations

from collections.abc import Iterable

from simengine.scoring.card import Part
from simengine.scoring.marking import Marked

TEAM = "team"


def phase_parts(marked: Iterable[Marked]) -> dict[str, Part]:
    """Return the total of each phase in which something applied."""
    return _parts(
        (one.plan.guide.phase, one, one.plan.weight, one.credit) for one in _applied(marked)
    )


def objective_parts(marked: Iterable[Marked]) -> dict[str, Part]:
    """Return the total of each objective for which something applied."""
    return _parts(
        (one.plan.item.objective, one, one.plan.weight, one.credit)
        for one in _applied(marked)
        if one.plan.item.objective is not None
    )


def role_parts(marked: Iterable[Marked]) -> dict[str, Part]:
    """Return the total of each role, and of the team as a whole for what is nobody's."""
    rows: list[tuple[str, Marked, float, float | None]] = []
    for one in _applied(marked):
        own = one.plan.item.role
        reached = [asking for asking in one.askings if asking.reached]
        if own is not None or not reached:
            rows.append((own or TEAM, one, one.plan.weight, one.credit))
            continue
        for asking in reached:
            role = asking.served.run.source.role if asking.served is not None else None
            rows.append((role or TEAM, one, one.plan.weight / len(reached), asking.credit))
    return _parts(rows)


def _applied(marked: Iterable[Marked]) -> list[Marked]:
    return [one for one in marked if one.credit is not None]


def _parts(rows: Iterable[tuple[str | None, Marked, float, float | None]]) -> dict[str, Part]:
    sums: dict[str, tuple[float, float, set[int]]] = {}
    for name, one, weight, credit in rows:
        assert name is not None
        assert credit is not None
        got, weights, items = sums.get(name, (0.0, 0.0, set()))
        items.add(one.plan.index)
        sums[name] = (got + weight * credit, weights + weight, items)
    return {
        name: Part(got / weights if weights else None, len(items), weights)
        for name, (got, weights, items) in sums.items()
    }
