"""A made hospital whose true effects are known: what the statistics are tried on.

Rules of this file:

- Sessions are held on training days, a few one after another, in a unit; the same people come
  again, three to a team, each with steps of their own. Scenarios share their steps.
- A step is in time with a chance whose log odds add up: the step's, the scenario's, the unit's, the
  day's, the person's, the person's in this scenario, whether it is assessed, and whatever is to
  grow or fade. A step that is not in time is late (half the credit) or missed, evenly.
- A step's time is lognormal, and a step that is missed has none. Practice takes its share of the
  time with each doubling of a person's attempts.
- Everything is drawn by one seeded generator; two hospitals of one seed and one ``Effects`` are the
  same. Nothing is so that ``Effects`` does not say: by default units, scenarios and steps alone
  differ.
- A second observer's log of a session reads another verdict of a step with the chance ``slip`` on
  the whole: in some sessions up to twice as often, in others hardly ever.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

from simengine.cohort.records import ItemResult, Purpose, SessionResult

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

FIRST_DAY = date(2025, 1, 6)
QUARTER_DAYS = 365.25 / 4
ROLES = ("leader", "airway", "circulation")
STANDARD = 0.6
LIMIT_S = 60.0
USUAL_S = 45.0
SPREAD = 0.5
"""Of the logarithm of a step's time."""
VERDICTS = ("on time", "late", "missed")
CREDITS = (1.0, 0.5, 0.0)


@dataclass(frozen=True, slots=True)
class Effects:
    """What is true of a hospital. Spreads and shifts are log odds of a step being in time.

    ``people``: on each unit. ``a_day``: sessions on a training day. ``unit``, ``scenario``,
    ``step``, ``day``, ``person``, ``habit`` (a person in a scenario), ``quirk`` (a person at a
    step): standard deviations. ``assessed``: the share that is assessed, at first and at last;
    ``easier``: what an assessed session adds. ``busier``: how much more of the sessions the best
    unit holds by the end (0: none). ``growth``: what each quarter adds. ``doubling``: what each
    doubling of a person's attempts adds to the logarithm of the time. ``fading``: what each month
    away adds. ``worse``: what the first unit's sessions lose from the middle on. ``twice``: the
    share that two observers record, ``slip``: how often the second reads a step wrongly.
    """

    units: int = 3
    people: int = 20
    sessions: int = 240
    days: int = 365
    a_day: int = 1
    scenarios: int = 5
    steps: int = 10
    unit: float = 0.3
    scenario: float = 0.4
    step: float = 0.5
    day: float = 0.0
    person: float = 0.0
    habit: float = 0.0
    quirk: float = 0.0
    assessed: tuple[float, float] = (0.5, 0.5)
    easier: float = 0.0
    busier: float = 0.0
    growth: float = 0.0
    doubling: float = 0.0
    fading: float = 0.0
    worse: float = 0.0
    twice: float = 0.0
    slip: float = 0.0


@dataclass(frozen=True, slots=True)
class Hospital:
    """Its sessions (second logs among them), and the truth: each step's share in time.

    ``in_time``: by the step's id, over people and days as they might have come, for the scenarios,
    units and purposes that were held. ``mean_total``: the mean of totals, alike.
    """

    sessions: tuple[SessionResult, ...]
    in_time: dict[str, float]
    mean_total: float


def hospital(effects: Effects, seed: int) -> Hospital:
    """Return the hospital of a seed."""
    import numpy as np

    e = effects
    rng = np.random.default_rng(seed)
    n = e.sessions
    day = _days(e, rng)
    since = day / e.days  # from 0 to 1
    unit_level = np.sort(rng.normal(0.0, e.unit, e.units))
    unit = _units(e, rng, day, since)
    scenario = rng.integers(e.scenarios, size=n)
    assessed = rng.random(n) < e.assessed[0] + (e.assessed[1] - e.assessed[0]) * since
    # three different people of the unit
    team = np.argsort(rng.random((n, e.people)), axis=1)[:, : len(ROLES)] + unit[:, None] * e.people
    role = np.arange(e.steps) % len(ROLES)
    own = team[:, role]  # (session, step): whose step it is
    fixed = (
        unit_level[unit][:, None]
        + rng.normal(0.0, e.scenario, e.scenarios)[scenario][:, None]
        + (rng.normal(0.0, e.step, e.steps) + 0.4)[None]
        + (e.easier * assessed)[:, None]
        + (e.growth * day / QUARTER_DAYS)[:, None]
        - (e.worse * ((unit == 0) & (since >= 0.5)))[:, None]
    )
    count = e.units * e.people
    chance_parts = (
        rng.normal(0.0, e.day, e.days + 1)[day][:, None]
        + rng.normal(0.0, e.person, count)[own]
        + rng.normal(0.0, e.habit, (count, e.scenarios))[own, scenario[:, None]]
        + rng.normal(0.0, e.quirk, (count, e.steps))[own, np.arange(e.steps)[None]]
    )
    attempt, months = _before(team, day)
    faded = np.where(np.isnan(months), 0.0, e.fading * np.nan_to_num(months))[:, role]
    odds = fixed + chance_parts + faded
    in_time = rng.random((n, e.steps)) < _expit(odds)
    late = rng.random((n, e.steps)) < 0.5
    verdict = np.where(in_time, 0, np.where(late, 1, 2))
    time_s = USUAL_S * np.exp(
        rng.normal(0.0, SPREAD, (n, e.steps))
        - 0.3 * chance_parts
        + e.doubling * np.log2(attempt[:, role])
    )
    sessions = [
        _session(e, number, int(day[number]), (int(unit[number]), int(scenario[number])),
                 bool(assessed[number]), team[number].tolist(), verdict[number].tolist(),
                 time_s[number].tolist())
        for number in range(n)
    ]  # fmt: skip
    sessions += _second(e, rng, sessions)
    spread = (e.day**2 + e.person**2 + e.habit**2 + e.quirk**2) ** 0.5
    chances = _over(fixed + faded, spread)
    return Hospital(
        tuple(sessions),
        {f"step-{place}": float(share) for place, share in enumerate(chances.mean(axis=0))},
        float((chances + (1.0 - chances) * 0.25).mean()),
    )


def _days(e: Effects, rng: np.random.Generator) -> NDArray[np.intp]:
    """Return each session's day, in order: ``a_day`` on each training day."""
    import numpy as np

    training = np.sort(rng.choice(e.days, -(-e.sessions // e.a_day), replace=e.a_day == 1))
    return np.repeat(training, e.a_day)[: e.sessions]


def _units(
    e: Effects, rng: np.random.Generator, day: NDArray[np.intp], since: Floats
) -> NDArray[np.intp]:
    """Return each session's unit: one for a training day, the best one more and more often."""
    import numpy as np

    best = rng.random(len(day)) < e.busier * since
    unit = np.where(best, e.units - 1, rng.integers(e.units, size=len(day)))
    first = np.unique(day, return_index=True)[1]
    return np.asarray(unit[first][np.searchsorted(day[first], day)])


def _before(team: NDArray[np.intp], day: NDArray[np.intp]) -> tuple[Floats, Floats]:
    """Return each member's attempt (from 1) and months since the one before, NaN at the first."""
    import numpy as np

    last: dict[int, tuple[int, int]] = {}
    attempt, months = np.ones(team.shape), np.full(team.shape, np.nan)
    for row, some in enumerate(team.tolist()):
        for place, who in enumerate(some):
            if who in last:
                number, before = last[who]
                attempt[row, place] = number + 1
                months[row, place] = (day[row] - before) / (365.25 / 12)
            last[who] = (int(attempt[row, place]), int(day[row]))
    return attempt, months


def _session(
    e: Effects,
    number: int,
    day: int,
    where: tuple[int, int],
    assessed: bool,
    team: Sequence[int],
    verdict: Sequence[int],
    time_s: Sequence[float],
) -> SessionResult:
    unit, scenario = where
    held = FIRST_DAY + timedelta(days=day)
    purpose: Purpose = "summative" if assessed else "formative"
    second = number % 36_000
    items = tuple(
        _item(place, CREDITS[word], VERDICTS[word], team[place % len(ROLES)], time)
        for place, (word, time) in enumerate(zip(verdict, time_s, strict=True))
    )
    return SessionResult(
        session=f"session-{number:06d}",
        day=held,
        wall=f"{held}T{8 + second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}Z",
        unit=f"Unit {unit}",
        scenario=f"scenario-{scenario}",
        scenario_title=f"Scenario {scenario}",
        scenario_digest="d" * 64,
        protocol="local",
        protocol_digest="p" * 64,
        program="0",
        purpose=purpose,
        confirmed=True,
        closed="finished",
        duration_s=600.0,
        total=sum(CREDITS[word] for word in verdict) / e.steps,
        interval=None,
        outcome=None,
        standard=STANDARD,
        team={role: (f"person-{who}",) for role, who in zip(ROLES, team, strict=True)},
        by=("recorder-1",),
        items=items,
        objectives={"all": "All of it"},
    )


@lru_cache(maxsize=1000)
def _titled(place: int) -> ItemResult:
    role = ROLES[place % len(ROLES)]
    return ItemResult(
        f"step-{place}", f"Step {place}", "expect", "essential", 1.0, True, 1.0, "on time", "all",
        None, role, None, False, USUAL_S, 600.0, LIMIT_S,
    )  # fmt: skip


def _item(place: int, credit: float, verdict: str, person: int, time_s: float) -> ItemResult:
    done = None if verdict == "missed" else time_s
    return replace(
        _titled(place), credit=credit, verdict=verdict, person=f"person-{person}", time_s=done
    )


def _second(
    e: Effects, rng: np.random.Generator, sessions: Sequence[SessionResult]
) -> list[SessionResult]:
    """Return the second observer's logs."""
    out = []
    for session in sessions:
        if rng.random() < e.twice:
            slip = 2.0 * e.slip * rng.random()
            out.append(
                replace(
                    session,
                    session=f"second-{session.session}",
                    by=("recorder-2",),
                    items=tuple(_slipped(item, slip, rng) for item in session.items),
                )
            )
    return out


def _slipped(item: ItemResult, slip: float, rng: np.random.Generator) -> ItemResult:
    if rng.random() >= slip:
        return item
    word = int(rng.integers(len(VERDICTS) - 1))
    others = [place for place, verdict in enumerate(VERDICTS) if verdict != item.verdict]
    place = others[word]
    time_s = None if VERDICTS[place] == "missed" else item.time_s or USUAL_S
    return replace(item, verdict=VERDICTS[place], credit=CREDITS[place], time_s=time_s)


def _expit(odds: Floats) -> Floats:
    import numpy as np

    return np.asarray(1.0 / (1.0 + np.exp(-odds)))


def _over(odds: Floats, spread: float) -> Floats:
    """Return the chances over a normal spread of the odds (Gauss and Hermite, 21 points)."""
    import numpy as np

    points, weights = np.polynomial.hermite_e.hermegauss(21)
    out = np.zeros_like(odds)
    for point, weight in zip(points, weights / weights.sum(), strict=True):
        out += weight * _expit(odds + spread * point)
    return out
