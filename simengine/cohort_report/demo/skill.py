"""How skilled an invented person is on a day, and the team that comes of several.

Rules of this file:

- Skill grows with each attempt and goes again with the months since the last one; both follow a
  curve that has done half its way after a stated number.
- A team is as skilled as its members on average. What a skill means is taken from the pilot's
  levels, in between by proportion (of the pace: by its logarithm).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from math import exp, log
from random import Random

from simengine.cohort_report.demo.hospital import Drift, Skill
from simengine.pilot.skills import Level, Skills, faultless

DAYS_A_MONTH = 30.44


@dataclass(slots=True)
class Person:
    """What somebody brings along, and what has come of it. ``eager``: how often they come."""

    code: str
    talent: float
    eager: float
    attempts: int = 0
    last: date | None = None

    def skill(self, figures: Skill, day: date) -> float:
        """Return the skill on a day."""
        gained = figures.gained * _way(self.attempts, figures.attempts_for_half)
        away = 0.0 if self.last is None else (day - self.last).days / DAYS_A_MONTH
        lost = min(gained, figures.lost * _way(away, figures.months_for_half))
        return figures.start + self.talent + gained - lost

    def took_part(self, day: date) -> None:
        """Count an attempt."""
        self.attempts += 1
        self.last = day


def drifted(drift: Drift, unit: str, day: date) -> float:
    """Return the skill that a unit's drift has cost by a day."""
    if unit != drift.unit or day < drift.since:
        return 0.0
    return drift.lost * min(1.0, (day - drift.since).days / DAYS_A_MONTH / drift.months)


def level_of(skill: float, skills: Skills) -> Level:
    """Return the level of a team: 0 is the first of ``skills``, one more the next, the last is
    a team without mistakes."""
    levels = (*skills.levels, faultless(skills).levels[0])
    place = min(max(skill, 0.0), len(levels) - 1.0)
    lower = min(int(place), len(levels) - 2)
    share = place - lower
    low, high = levels[lower], levels[lower + 1]

    def between(name: str) -> float:
        a, b = getattr(low, name).value, getattr(high, name).value
        return float(a + share * (b - a))

    pace = exp(log(low.pace.value) + share * log(high.pace.value / low.pace.value))
    return replace(
        low,
        name=f"{place:.3f}",
        pace=replace(low.pace, value=pace),
        **{
            name: replace(getattr(low, name), value=between(name))
            for name in ("omission", "setting_error", "done_in_error")
        },
    )


def people_of(codes: list[str], figures: Skill, chance: Random) -> dict[str, Person]:
    """Return a person for each code."""
    return {
        code: Person(
            code, chance.gauss(0.0, figures.spread_of_people), chance.lognormvariate(0.0, 0.5)
        )
        for code in codes
    }


def _way(number: float, for_half: float) -> float:
    return 1.0 - exp(-number / for_half * log(2.0))
