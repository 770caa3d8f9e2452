"""Learning curves: how the time to a step falls with practice.

Rules of this file:

- The time to a step at a person's Nth attempt is taken as a · N^-b (Wright 1936, Journal of the
  Aeronautical Sciences 3:122): each doubling of practice leaves the share 2^-b of the time. That
  share is the *rate*: an 80 % curve leaves 80 %.
- b is found by least squares on the logarithms, each person with an own a, scenario and purpose
  held fixed: it is told by people who came more than once. Attempts share days, and a person's
  habits in a scenario: the interval counts that (``clusters``).
- Whether the time falls or rises is told only where the whole interval of the rate is on one side
  of 1 (97.5 %, ``claims``). Practice, the calendar and better teaching can't be told apart by it;
  and where people are asked back because they did badly, their next attempt is better by chance
  alone.
- An attempt is a session in which the step was asked and was the person's own. What was never done
  has no time and can't be in the fit; it is counted and told, since it makes the curve look better
  than it is. So is what was done at once or before it was asked (no logarithm). A miss that no role
  was named for is the team's: it is nobody's attempt, and isn't even counted here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import exp, log

from simengine.cohort.claims import SURE
from simengine.cohort.clusters import Clusters, Shares
from simengine.cohort.evidence import opened_at
from simengine.cohort.records import Purpose, SessionResult
from simengine.cohort.slope import Direction, slope
from simengine.cohort.too_few import is_too_few

LN2 = log(2.0)


@dataclass(frozen=True, slots=True)
class Practised:
    """A person's ``attempt``-th attempt (from 1): seconds, ``None`` where never done."""

    person: str
    scenario: str
    attempt: int
    time_s: float | None
    day: date
    purpose: Purpose


@dataclass(frozen=True, slots=True)
class LearningCurve:
    """time = ``first_s`` · N^-``b``: 97.5 % intervals of ``b`` and of the ``rate`` (of 1).

    ``first_s``: the geometric mean of the first attempt, in seconds. ``n`` attempts of ``people``
    who came more than once; ``never``: attempts in which it was not done, ``at_once``: done in no
    time, both left out.
    """

    first_s: float
    b: float
    low: float
    high: float
    rate: float
    rate_low: float
    rate_high: float
    n: int
    people: int
    never: int
    at_once: int
    direction: Direction
    """Of the time, with practice."""

    @property
    def few(self) -> bool:
        """Whether it rests on too few people to tell."""
        return is_too_few(self.people)

    def time_s(self, attempt: float) -> float:
        """Return the time that the curve has for an attempt, in seconds."""
        return float(self.first_s * attempt**-self.b)


def practised(results: Iterable[SessionResult], item: str) -> tuple[Practised, ...]:
    """Return everybody's attempts at an item, numbered in order of time over all scenarios."""
    count: dict[str, int] = {}
    out = []
    for result in sorted(results, key=opened_at):
        for item_result in result.items:
            if (
                item_result.id != item
                or item_result.person is None
                or not item_result.applied
                or item_result.watched_s is None
            ):
                continue
            count[item_result.person] = count.get(item_result.person, 0) + 1
            out.append(
                Practised(
                    item_result.person,
                    result.scenario,
                    count[item_result.person],
                    item_result.time_s,
                    result.day,
                    result.purpose,
                )
            )
    return tuple(out)


def learning_curve(attempts: Sequence[Practised]) -> LearningCurve | None:
    """Return the curve through some attempts; ``None`` where it can't be told."""
    never = sum(attempt.time_s is None for attempt in attempts)
    at_once = sum(attempt.time_s is not None and attempt.time_s <= 0.0 for attempt in attempts)
    timed = [
        (attempt, attempt.time_s)
        for attempt in attempts
        if attempt.time_s is not None and attempt.time_s > 0.0
    ]
    often: dict[str, int] = {}
    for attempt, _ in timed:
        often[attempt.person] = often.get(attempt.person, 0) + 1
    used = [(attempt, time_s) for attempt, time_s in timed if often[attempt.person] > 1]
    if not used:
        return None
    times = [log(time_s) for _, time_s in used]
    numbers = [log(attempt.attempt) for attempt, _ in used]
    trend = slope(
        times,
        numbers,
        within=[attempt.person for attempt, _ in used],
        factor=[(attempt.scenario, attempt.purpose) for attempt, _ in used],
        clusters=Clusters(
            Shares(attempt.day, (attempt.person,), attempt.scenario) for attempt, _ in used
        ),
        confidence=SURE,
    )
    if trend is None:
        return None
    b = -trend.value
    mean = sum(times) / len(times) + b * sum(numbers) / len(numbers)
    return LearningCurve(
        first_s=exp(mean),
        b=b,
        low=-trend.high,
        high=-trend.low,
        rate=exp(-b * LN2),
        rate_low=exp(trend.low * LN2),
        rate_high=exp(trend.high * LN2),
        n=len(used),
        people=trend.groups,
        never=never,
        at_once=at_once,
        direction=trend.direction,
    )
