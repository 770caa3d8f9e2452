"""Which sessions the invented hospital holds: when, where, which, what for and with whom.

Rules of this file:

- Units and purposes come in the shares that the file states, to within one; the order is chance.
- Who comes is who has not come for longest, among those on the unit that day, the eager ones
  sooner. Roles go to whoever has held them least.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt
from random import Random
from typing import TypeVar

from simengine.cohort.records import Purpose
from simengine.cohort_report.demo.hospital import Hospital, Unit
from simengine.cohort_report.demo.skill import Person
from simengine.people.roster import Roster
from simengine.scenario.model import Scenario

_T = TypeVar("_T")
_NOT_YET_DAYS = 120
"""How long somebody who never came is taken to have been away."""
_SHARED = 0.12
"""Share of sessions in which two people hold one role."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A session to be held. ``wall``: UTC, ISO 8601."""

    number: int
    day: date
    wall: str
    unit: Unit
    scenario: str
    purpose: Purpose
    by: str


def timetable(hospital: Hospital, chance: Random) -> tuple[Slot, ...]:
    """Return all sessions in order of time."""
    days = (hospital.last_day - hospital.first_day).days + 1
    weekdays = [
        day
        for offset in range(days)
        if (day := hospital.first_day + timedelta(days=offset)).weekday() < 5
    ]
    hours = [(hour, minute) for hour in range(8, 17) for minute in (0, 20, 40)]
    moments = sorted(
        (chance.choice(weekdays), *chance.choice(hours)) for _ in range(hospital.sessions)
    )
    units = _dealt({unit.name: unit.share for unit in hospital.units}, len(moments), chance)
    purposes = _dealt(hospital.purposes, len(moments), chance)
    by_name = {unit.name: unit for unit in hospital.units}
    scenarios = {
        name: iter(_dealt(unit.scenarios, units.count(name), chance))
        for name, unit in by_name.items()
    }
    facilitators = [facilitator.code for facilitator in hospital.facilitators]
    slots = []
    for number, ((day, hour, minute), unit) in enumerate(zip(moments, units, strict=True)):
        wall = f"{day.isoformat()}T{hour:02d}:{minute:02d}:{chance.randrange(60):02d}.000Z"
        scenario = next(scenarios[unit])
        by = chance.choice(facilitators)
        slots.append(Slot(number, day, wall, by_name[unit], scenario, purposes[number], by))
    return tuple(slots)


def team_for(
    slot: Slot,
    scenario: Scenario,
    left_out: frozenset[str],
    roster: Roster,
    people: Mapping[str, Person],
    held: Counter[tuple[str, str]],
    chance: Random,
) -> dict[str, list[str]]:
    """Return who holds which role; ``held`` counts how often each has, and is counted on."""
    roles = [role for role in scenario.roles if role not in left_out]
    there = [people[code] for code in codes_there(roster, slot.unit.name, slot.day)]
    wanted = len(roles) + (chance.random() < _SHARED)

    def turn(person: Person) -> float:
        away = _NOT_YET_DAYS if person.last is None else (slot.day - person.last).days
        return sqrt(away + 1) * person.eager * chance.lognormvariate(0.0, 0.4)

    coming = [
        code for _, code in sorted(((turn(person), person.code) for person in there), reverse=True)
    ]
    team: dict[str, list[str]] = {}
    for place, code in enumerate(coming[:wanted]):
        open_ = [role for role in roles if role not in team] or [chance.choice(roles[1:])]
        role = min(open_, key=lambda role: (held[code, role], roles.index(role) + place))
        held[code, role] += 1
        team.setdefault(role, []).append(code)
    return {role: team[role] for role in roles if role in team}


def codes_there(roster: Roster, unit: str, day: date) -> list[str]:
    """Return the codes of those who work on a unit on a day and are not away."""
    away = {leave.code for leave in roster.leaves if leave.since <= day <= leave.until}
    return [
        trainee.code
        for trainee in roster.trainees
        if trainee.code not in away
        and (trainee.left is None or day <= trainee.left)
        and any(
            posting.unit == unit
            and posting.since <= day
            and (posting.until is None or day <= posting.until)
            for posting in trainee.postings
        )
    ]


def _dealt(shares: Mapping[_T, float], number: int, chance: Random) -> list[_T]:
    """Return ``number`` things in these shares, shuffled."""
    whole = sum(shares.values()) or 1.0
    out: list[_T] = []
    reached = 0.0
    for thing, share in shares.items():
        reached += number * share / whole
        out += [thing] * (round(reached) - len(out))
    chance.shuffle(out)
    return out
