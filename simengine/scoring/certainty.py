"""How sure is it: the score with the recorded times redrawn.

Rules of this file:

- A machine-recorded session is not redrawn. The seed is the session's UUID as an integer.
- 90 % interval: the 5th and 95th percentiles of the totals, linear; so for each phase, objective
  and role.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from simengine.scoring.mark import Marked
from simengine.scoring.outcome import is_achieved
from simengine.scoring.plan import Plan
from simengine.scoring.totals import PartIntervals, interval_of, part_intervals


@dataclass(frozen=True, slots=True)
class Certainty:
    """``interval`` of the total; ``parts``: those of phases, objectives and roles.

    For each item ``flips``: the share of redraws in which its verdict changes, and ``stands``: the
    share in which what was to be avoided occurs. ``outcome_flips``: the share in which the outcome
    changes.
    """

    interval: tuple[float, float]
    flips: tuple[float, ...]
    stands: tuple[float, ...]
    outcome_flips: float
    totals: tuple[float, ...]
    parts: PartIntervals


def redrawn(
    plan: Plan, marked: Sequence[Marked], total: float | None, redraws: int
) -> Certainty | None:
    """Score ``redraws`` times with redrawn times; ``None`` where there is nothing to redraw."""
    session = plan.session
    if redraws <= 0 or total is None or session.purpose == "rehearsal":
        return None
    if not any(recorded.by_person for recorded in session.record.marks):
        return None
    try:
        seed = UUID(session.session_id).int
    except ValueError:
        return None
    # Only here, since `check` plays and scores without redraws, and needs no arrays.
    import numpy as np

    from simengine.scoring.at_once.achieved import are_achieved
    from simengine.scoring.at_once.mark_at_once import mark_redraws
    from simengine.scoring.redrawn_times import times_redrawn

    again = mark_redraws(plan, times_redrawn(plan, seed, redraws))
    totals = again.totals()
    known_totals = totals[~np.isnan(totals)]
    if not len(known_totals):
        return None
    achieved = is_achieved(plan, marked, total)
    return Certainty(
        interval_of(known_totals),
        tuple(again.flips(marked)),
        tuple(again.stands()),
        float((are_achieved(again, totals) != achieved).sum() / redraws),
        tuple(known_totals.tolist()),
        part_intervals(marked, again.credit.T, again.role_totals()),
    )
