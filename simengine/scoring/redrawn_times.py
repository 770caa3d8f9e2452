"""The recorded times redrawn: by how much recording error moves them, and within which bounds.

Rules of this file:

- Redrawn are times that a person recorded of actions, settings and faults, with the standard
  deviation of recording times; states, pauses and curves are not.
- ``numpy.random.default_rng`` is seeded with what is given. For each redraw one
  normal is drawn for each distinct (recorder, ``at`` of the log, corrections applied), in order
  of the lowest ``seq``, then one more for time zero, whether or not there is one. A shift is the
  normal times the standard deviation, rounded to the nearest ms (halves to even).
- What is recorded with one (recorder, ``at``) moves together.
- A time stays within its stay (entry, exit] (the first stay: [0, exit]) and at most at the
  session's end; then at its side of time zero; then a stop not before its start.
- Time zero itself moves freely down to 0 ms: it is what is anchored on it that shifts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from simengine.scoring.at_once.stretches import Ints
from simengine.scoring.plan import Plan
from simengine.session.record import Mark


@dataclass(frozen=True, eq=False)
class RedrawnTimes:
    """``marks``: a row for each of ``Record.marks``, a column for each redraw, in ms.

    ``clock``: time zero in each redraw, ``None`` if it never came. Gone through, it gives one
    redraw after the other, as ``Resample`` takes it.
    """

    marks: Ints
    clock: Ints | None

    def __len__(self) -> int:
        return int(self.marks.shape[1])

    def __iter__(self) -> Iterator[tuple[list[int], int | None]]:
        return (self.of(redraw) for redraw in range(len(self)))

    def of(self, redraw: int) -> tuple[list[int], int | None]:
        """Return the instants of one redraw and its time zero."""
        zero = None if self.clock is None else int(self.clock[redraw])
        return self.marks[:, redraw].tolist(), zero


def times_redrawn(plan: Plan, seed: int, redraws: int) -> RedrawnTimes:
    """Return for each redraw the instants of ``Record.marks`` and of time zero, in ms."""
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
