"""Does a unit drift away from its own first rate of sessions below standard?

Rules of this file:

- A unit's first ``REFERENCE`` sessions set its own rate (Jeffreys' estimate, so that it is never
  0). After them the chart adds up log-likelihood ratios of doubled odds to that rate, never below 0
  (Page 1954, Biometrika 41:100).
- Scenarios and purposes are not equally hard: each session's rate is the unit's, moved by how hard
  its scenario and purpose are in all units (risk adjustment; Steiner and others 2000, Biostatistics
  1:441, from memory). How hard is found by logistic regression, the unit held fixed, drawn towards
  no difference as by ``PRIOR_SD``.
- The limit is what chance reaches: the unit's training days are put into another order, seeded,
  thousands of times, and each order has first sessions and a starting rate of its own. So the
  limit counts that the starting rate is itself an estimate, and that sessions of one day share
  their luck. In a unit that does not drift every order of its days is as likely as the one that
  was.
- The promise is one for all units together: it is shared out over them evenly.
- Where that asks for a rarer event than the runs can show, the limit goes on from there as the tail
  of such a chart falls, by e for each unit of height, which it never exceeds (Wald 1947).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import exp, log
from typing import TYPE_CHECKING

from simengine.cohort.claims import WRONGLY
from simengine.cohort.evidence import opened_at
from simengine.cohort.records import SessionResult
from simengine.quantities.formatting import count, percent

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

REFERENCE = 20
"""How many first sessions tell a unit's own rate."""
WATCHED = 5
ODDS_RATIO = 2.0
LEAST_RUNS = 2_000
MOST_RUNS = 10_000
BEYOND = 20
"""Runs that are asked for beyond a limit, so that it does not hang on a few of them."""
SEED = 20260101
PRIOR_SD = 1.0
EQUAL = 1e-9


@dataclass(frozen=True, slots=True)
class Tried:
    """One session in order of time: is it below its standard? ``hard``: scenario and purpose."""

    session: str
    day: date
    hard: tuple[str, str]
    failed: bool


@dataclass(frozen=True, slots=True)
class UnitDrift:
    """A unit's chart after its first ``reference`` sessions, which set its own rate ``p0``.

    ``p1``: where the odds have doubled. ``values``: the line after each watched session;
    ``signals``: those (from 0) at which it reached ``limit`` and began again at 0. ``promise``: the
    share of steady units that reach it, at most; ``detects``: of those whose odds have doubled.
    """

    reference: int
    watched: tuple[Tried, ...]
    p0: float
    p1: float
    values: tuple[float, ...]
    signals: tuple[int, ...]
    limit: float
    promise: float
    detects: float
    runs: int

    def words(self) -> str:
        """Return what the plot has to say of itself."""
        return (
            f"Up means below standard. Its own first rate {percent(self.p0)}, unacceptable "
            f"{percent(self.p1)}, for scenarios and purposes as in its first sessions; limit "
            f"{self.limit:.2f}. With its training days in {self.runs:,} other orders, each with a "
            f"starting rate of its own, at most {100 * self.promise:.2g} % reach it by chance over "
            f"{count(len(self.watched), 'session')}; if the odds had doubled from the first of "
            f"them, {percent(self.detects)} would"
            + (": few sessions will rarely signal." if self.detects < 0.5 else ".")
        )


def sessions_tried(results: Sequence[SessionResult]) -> tuple[Tried, ...]:
    """Return sessions in order of time; one fails where its total is below its standard.

    Those without a standard or a total are left out.
    """
    return tuple(
        Tried(
            result.session,
            result.day,
            (result.scenario, result.purpose),
            result.total < result.standard - EQUAL,
        )
        for result in sorted(results, key=opened_at)
        if result.total is not None and result.standard is not None
    )


def units_drift(
    tried: Mapping[str, Sequence[Tried]],
    *,
    wrongly: float = WRONGLY,
    reference: int = REFERENCE,
) -> dict[str, UnitDrift]:
    """Return the chart of each unit with ``WATCHED`` sessions after its first ``reference``.

    ``wrongly``: in how many hospitals where nothing drifts any unit may signal.
    """
    enough = {unit: some for unit, some in tried.items() if len(some) >= reference + WATCHED}
    if not enough:
        return {}
    hard = _hardness(tried)
    promise = wrongly / len(enough)
    return {unit: _drift(some, hard, promise, reference) for unit, some in enough.items()}


def _drift(
    tried: Sequence[Tried], hard: Mapping[tuple[str, str], float], promise: float, reference: int
) -> UnitDrift:
    import numpy as np

    rng = np.random.default_rng(SEED)
    failed = np.array([trial.failed for trial in tried], dtype=np.float64)
    moved = np.array([hard[trial.hard] for trial in tried])
    days = {day: number for number, day in enumerate(dict.fromkeys(trial.day for trial in tried))}
    of_day = np.array([days[trial.day] for trial in tried])
    runs = int(min(MOST_RUNS, max(LEAST_RUNS, BEYOND / promise)))
    # whole days in another order, the sessions of each as they were
    order = np.argsort(rng.random((runs, len(days)))[:, of_day], axis=1, kind="stable")
    highest = _highest(failed[order], moved[order], reference)
    limit = _limit(highest, promise)
    mean = float(moved[:reference].mean())
    level = float(_levels(failed[None, :reference], moved[None, :reference])[0])
    steps = _steps(failed[None], moved[None], np.array([level]), reference)[0]
    values, signals, line = [], [], 0.0
    for number, step in enumerate(steps.tolist()):
        line = max(0.0, line + step)
        values.append(line)
        if line >= limit - EQUAL:
            signals.append(number)
            line = 0.0
    chance = 1.0 / (1.0 + np.exp(-(level + moved)))
    doubled = 1.0 / (1.0 + np.exp(-(level + moved + log(ODDS_RATIO))))
    doubled[:reference] = chance[:reference]
    drifted = (rng.random((LEAST_RUNS, len(tried))) < doubled).astype(np.float64)
    detects = _highest(drifted, np.broadcast_to(moved, drifted.shape), reference) >= limit - EQUAL
    return UnitDrift(
        reference,
        tuple(tried[reference:]),
        1.0 / (1.0 + exp(-(level + mean))),
        1.0 / (1.0 + exp(-(level + mean + log(ODDS_RATIO)))),
        tuple(values),
        tuple(signals),
        limit,
        promise,
        float(detects.mean()),
        runs,
    )


def _highest(failed: Floats, moved: Floats, reference: int) -> Floats:
    """Return the highest that each run's line comes to: (runs, sessions) to (runs)."""
    import numpy as np

    levels = _levels(failed[:, :reference], moved[:, :reference])
    steps = _steps(failed, moved, levels, reference)
    line, most = np.zeros(len(steps)), np.zeros(len(steps))
    for number in range(steps.shape[1]):
        line = np.maximum(0.0, line + steps[:, number])
        most = np.maximum(most, line)
    return np.asarray(most)


def _steps(failed: Floats, moved: Floats, levels: Floats, reference: int) -> Floats:
    """Return what each session after the first adds: log-likelihood ratios of doubled odds."""
    import numpy as np

    chance = 1.0 / (1.0 + np.exp(-(levels[:, None] + moved[:, reference:])))
    return np.asarray(
        log(ODDS_RATIO) * failed[:, reference:] - np.log1p((ODDS_RATIO - 1.0) * chance)
    )


def _levels(failed: Floats, moved: Floats) -> Floats:
    """Return each run's own level (log odds), as its first sessions tell: (runs, first)."""
    import numpy as np

    n = failed.shape[1]
    failures = (failed.sum(axis=1) + 0.5) / (n + 1.0) * n
    level = np.log(failures / (n - failures)) - moved.mean(axis=1)
    for _ in range(12):  # Newton, with steps short enough to be safe
        chance = 1.0 / (1.0 + np.exp(-(level[:, None] + moved)))
        slope = np.maximum((chance * (1.0 - chance)).sum(axis=1), 1e-6)
        level += np.clip((failures - chance.sum(axis=1)) / slope, -1.0, 1.0)
    return np.asarray(level)


def _limit(highest: Floats, promise: float) -> float:
    """Return the lowest limit that at most ``promise`` of the runs reach."""
    import numpy as np

    rounded = np.sort(np.round(highest, 9))
    runs = len(rounded)
    risk = max(promise, BEYOND / runs)
    candidates = np.unique(rounded)
    reached = runs - np.searchsorted(rounded, candidates, "left")
    # the order that was is one of the runs, so one more is counted than was drawn
    fit = candidates[reached + 1 <= risk * (runs + 1)]
    limit = float(fit[0]) if len(fit) else float(rounded[-1]) + log(ODDS_RATIO)
    return max(limit, log(ODDS_RATIO)) + log(risk / promise)


def _hardness(tried: Mapping[str, Sequence[Tried]]) -> dict[tuple[str, str], float]:
    """Return how hard each scenario and purpose is: log odds, 0 being the usual."""
    import numpy as np

    tally: dict[tuple[int, tuple[str, str]], list[int]] = {}
    for number, some in enumerate(tried.values()):
        for trial in some:
            counts = tally.setdefault((number, trial.hard), [0, 0])
            counts[0] += trial.failed
            counts[1] += 1
    kinds = sorted({kind for _, kind in tally})
    if len(kinds) < 2:
        return dict.fromkeys(kinds, 0.0)
    rows = np.zeros((len(tally), len(tried) + len(kinds)))
    for row, (unit, kind) in enumerate(tally):
        rows[row, unit] = rows[row, len(tried) + kinds.index(kind)] = 1.0
    failed, of = np.array(list(tally.values()), dtype=np.float64).T
    drawn = np.full(rows.shape[1], PRIOR_SD**-2)
    drawn[: len(tried)] = 0.01  # a unit's own level, all but free
    estimate = np.zeros(rows.shape[1])
    for _ in range(25):
        chance = 1.0 / (1.0 + np.exp(-(rows @ estimate)))
        slope = rows.T @ (failed - of * chance) - drawn * estimate
        curve = (rows * (of * chance * (1.0 - chance))[:, None]).T @ rows + np.diag(drawn)
        step = np.linalg.solve(curve, slope)
        estimate += np.clip(step, -2.0, 2.0)
        if abs(step).max() < 1e-8:
            break
    return {kind: float(estimate[len(tried) + place]) for place, kind in enumerate(kinds)}
