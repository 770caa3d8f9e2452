"""The fewest drills that would bring most people up to date.

Rules of this file:

- A drill is one session of a scenario on one unit, with one person in each role. A person in a role
  meets every requirement that names the scenario (or any) and the role (or any).
- Greedy: the drill that meets most of what is open comes first, its people chosen by assignment
  (scipy); then the next, until nothing is left that a drill can meet. Among drills that meet as
  many, the one goes first whose requirements fewer seats can meet; of people who are alike the most
  urgent. A greedy cover may need a few more than the fewest possible, at most 1 + ½ + ⅓ … times as
  many, with as many terms as one drill can meet (Chvátal 1979, Mathematics of Operations Research
  4:233).
- It counts on everybody achieving the outcome, which nobody can promise.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from simengine.people.bookings import Booking
from simengine.people.currency import Currency
from simengine.people.roster import Requirement

Seats = Mapping[str, Sequence[str]]
"""Scenario → the roles that one person each can hold."""

_LITTLE = 1e-3  # so little that no number of requirements of one drill adds up to one more


@dataclass(frozen=True, slots=True)
class Seat:
    """A person in a role, and the requirements that this would meet."""

    role: str
    code: str
    requirements: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Drill:
    """One session to be held. Roles that would meet nothing are left open."""

    unit: str
    scenario: str
    seats: tuple[Seat, ...]

    @property
    def met(self) -> int:
        """How many requirements of its people it would meet."""
        return sum(len(seat.requirements) for seat in self.seats)


@dataclass(frozen=True, slots=True)
class Drills:
    """What to hold, what meets most first; ``unmet``: what no scenario here can meet."""

    drills: tuple[Drill, ...]
    unmet: tuple[Currency, ...]


def fewest_drills(
    needs: Iterable[Currency],
    requirements: Iterable[Requirement],
    units: Mapping[str, str],
    seats: Seats,
) -> Drills:
    """Return the drills that would meet ``needs``, given with the most urgent first.

    ``units``: code → where the person works now.
    """
    by_id = {requirement.id: requirement for requirement in requirements}
    worth = {requirement.id: _worth(requirement, seats) for requirement in by_id.values()}
    needs = list(needs)
    by_unit: dict[str, dict[str, list[str]]] = {}
    for need in needs:
        unit = units.get(need.code, "")
        by_unit.setdefault(unit, {}).setdefault(need.code, []).append(need.requirement)
    drills = []
    for unit, people in by_unit.items():
        while (drill := _best(unit, people, by_id, worth, seats)) is not None:
            drills.append(drill)
            for seat in drill.seats:
                left = [
                    requirement
                    for requirement in people[seat.code]
                    if requirement not in seat.requirements
                ]
                people[seat.code] = left
                if not left:
                    del people[seat.code]
    drills.sort(key=lambda drill: -drill.met)
    left_over = {
        (code, requirement)
        for people in by_unit.values()
        for code, some in people.items()
        for requirement in some
    }
    unmet = tuple(need for need in needs if (need.code, need.requirement) in left_over)
    return Drills(tuple(drills), unmet)


def planned_already(
    needs: Iterable[Currency], requirements: Iterable[Requirement], bookings: Iterable[Booking]
) -> tuple[Currency, ...]:
    """Return the needs that an assessment would meet that is planned and has not been held."""
    by_id = {requirement.id: requirement for requirement in requirements}
    to_come = [
        booking
        for booking in bookings
        if booking.purpose == "summative" and not booking.cancelled and not booking.done
    ]
    return tuple(
        need
        for need in needs
        if any(
            _counts(by_id[need.requirement], drill.scenario, (role,))
            for drill in to_come
            for role, codes in drill.team.items()
            if role and need.code in codes
        )
    )


def _best(
    unit: str,
    people: Mapping[str, Sequence[str]],
    by_id: Mapping[str, Requirement],
    worth: Mapping[str, float],
    seats: Seats,
) -> Drill | None:
    best: Drill | None = None
    most = 0.0
    for scenario, roles in seats.items():
        drill = Drill(unit, scenario, _seated(scenario, roles, people, by_id, worth))
        gain = sum(worth[requirement] for seat in drill.seats for requirement in seat.requirements)
        if gain > most + 1e-9:
            best, most = drill, gain
    return best


def _seated(
    scenario: str,
    roles: Sequence[str],
    people: Mapping[str, Sequence[str]],
    by_id: Mapping[str, Requirement],
    worth: Mapping[str, float],
) -> tuple[Seat, ...]:
    import numpy as np
    from scipy.optimize import linear_sum_assignment

    # People who need the same are alike, so of each kind no more than there are roles can matter.
    alike: dict[tuple[str, ...], list[str]] = {}
    for code, some in people.items():
        useful = tuple(id_ for id_ in some if _counts(by_id[id_], scenario, roles))
        if useful and len(alike.setdefault(useful, [])) < len(roles):
            alike[useful].append(code)
    chosen = [(code, useful) for useful, codes in alike.items() for code in codes]
    if not chosen:
        return ()
    met = [
        [tuple(id_ for id_ in useful if by_id[id_].role in (None, role)) for role in roles]
        for _, useful in chosen
    ]
    value = np.array([[sum(worth[id_] for id_ in cell) for cell in row] for row in met])
    at, to = linear_sum_assignment(value, maximize=True)
    seats_taken = [
        Seat(roles[role], chosen[person][0], met[person][role])
        for person, role in zip(at.tolist(), to.tolist(), strict=True)
        if met[person][role]
    ]
    return tuple(sorted(seats_taken, key=lambda seat: list(roles).index(seat.role)))


def _worth(requirement: Requirement, seats: Seats) -> float:
    """Return 1, and a little more the fewer seats can meet a requirement."""
    able = sum(
        sum(requirement.role in (None, role) for role in roles)
        for scenario, roles in seats.items()
        if not requirement.scenarios or scenario in requirement.scenarios
    )
    return 1 + _LITTLE / max(able, 1)


def _counts(requirement: Requirement, scenario: str, roles: Sequence[str]) -> bool:
    return (not requirement.scenarios or scenario in requirement.scenarios) and (
        requirement.role is None or requirement.role in roles
    )
