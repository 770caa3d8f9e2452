"""The figures of a score alone, without a card: what is asked of sessions by the thousand.

They are those of the card, from the same marks; times are not redrawn.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from simengine.scoring.make_plan import make_plan
from simengine.scoring.mark import Marked
from simengine.scoring.marking import mark, total_of
from simengine.scoring.outcome import is_achieved, is_never, why_no_outcome
from simengine.scoring.resample import Resample
from simengine.session.record import Session


@dataclass(frozen=True, slots=True)
class ItemFigures:
    """An item's credit (``None``: not reached) and the first delay of its occasions in ms."""

    credit: float | None
    delay_ms: int | None


@dataclass(frozen=True, slots=True)
class Figures:
    """``items`` of the key by id; ``deductions``: what was taken from the total, by id."""

    total: float | None
    outcome: str | None
    items: Mapping[str, ItemFigures]
    deductions: Mapping[str, float]


def figures_of(session: Session) -> Figures:
    """Return the figures of a session's score."""
    plan, record = make_plan(session), session.record
    times = [recorded.at_ms for recorded in record.marks]
    marked = mark(plan, Resample(plan, times, record.clock_ms))
    total = total_of(marked)
    outcome = None
    if not why_no_outcome(plan, marked, total):
        outcome = "achieved" if is_achieved(plan, marked, total) else "not yet achieved"
    return Figures(
        total,
        outcome,
        {
            item.plan.item.id: ItemFigures(item.credit, _delay(item))
            for item in marked
            if not is_never(item)
        },
        {item.plan.item.id: item.deducted for item in marked if item.deducted},
    )


def _delay(item: Marked) -> int | None:
    for occasion in item.occasions:
        if occasion.match is not None and occasion.reached:
            return occasion.match.delay
    return None
