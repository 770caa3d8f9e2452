"""How sure is it: the score with the recorded times redrawn.

Rules of this file:

- Redrawn are times that a person recorded of actions, settings and faults, with the standard
  deviation of recording times; states, pauses, curves and machine-recorded sessions are not.
- ``numpy.random.default_rng`` is seeded by the session's UUID as an integer. For each redraw one
  normal is drawn for each distinct (recorder, ``at`` of the log, corrections applied), in order
  of the lowest ``seq``, then one more for time zero, whether or not there is one. A shift is the
  normal times the standard deviation, rounded to the nearest ms (halves to even).
- What is recorded with one (recorder, ``at``) moves together.
- A time stays within its stay (entry, exit] (the first stay: [0, exit]) and at most at the
  session's end; then at its side of time zero; then a stop not before its start.
- Time zero itself moves freely down to 0 ms: it is what is anchored on it that shifts.
- 90 % interval: the 5th and 95th percentiles of the totals, linear; so for each phase, objective
  and role.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

from simengine.scoring.mark import Marked
from simengine.scoring.outcome import is_achieved
from simengine.scoring.plan import Plan
from simengine.scoring.totals import PartIntervals, interval_of, part_intervals
from simengine.session.record import Mark

if TYPE_CHECKING:
    from simengine.scoring.at_once.redrawn_times import RedrawnTimes


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


def times_redrawn(plan: Plan, seed: int, redraws: int) -> RedrawnTimes:
    """Return for each redraw the instants of ``Record.marks`` and of time zero, in ms."""
    import numpy as np

    from simengine.scoring.at_once.redrawn_times import RedrawnTimes

    record = plan.session.record
    marks, zero = record.marks, record.clock_ms
    moving = [
        place
        for place, recorded in enumerate(marks)
        if recorded.by_person and place != record.clock_mark
    ]
    moving.sort(key=lambda place: marks[place].seq)
    column: dict[tuple[str, int], int] = {}
    for place in moving:
        column.setdefault((marks[place].recorder, marks[place].at_session_ms), len(column))
    spread = plan.session.scenario.scoring.recording_sd_ms
    normals = np.random.default_rng(seed).standard_normal((redraws, len(column) + 1))
    shifts = np.rint(normals * spread).astype(np.int64)
    at = np.array([recorded.at_ms for recorded in marks], dtype=np.int64)
    times = np.tile(at, (redraws, 1))
    zeros = np.full(redraws, -1 if zero is None else zero, dtype=np.int64)
    if record.clock_mark is not None and marks[record.clock_mark].by_person:
        zeros = np.maximum(zeros + shifts[:, -1], 0)
        times[:, record.clock_mark] = zeros
    for place in moving:
        recorded = marks[place]
        low, high = _bounds(plan, recorded)
        moved = recorded.at_ms + shifts[:, column[recorded.recorder, recorded.at_session_ms]]
        moved = np.clip(moved, low, high)
        if zero is not None:
            after = (recorded.at_ms, recorded.seq) > (zero, plan.clock_seq)
            moved = np.maximum(moved, zeros) if after else np.minimum(moved, zeros)
        times[:, place] = moved
    for runs in plan.performances.values():
        for known in runs:
            if known.stop_mark is not None and known.start_mark is not None:
                times[:, known.stop_mark] = np.maximum(
                    times[:, known.stop_mark], times[:, known.start_mark]
                )
    return RedrawnTimes(np.ascontiguousarray(times.T), None if zero is None else zeros)


def _bounds(plan: Plan, recorded: Mark) -> tuple[int, int]:
    """The stay that a recorded time lies in, as the least and greatest ms it may have."""
    last = max(plan.end, recorded.at_ms)
    for stay in plan.session.stays:
        first = stay.entry_ms + 1 if stay.entry_ms > 0 else 0
        if first <= recorded.at_ms <= stay.exit_ms:
            return first, min(stay.exit_ms, last)
    return 0, last
