"""Drills that bring people up to date: enough of them, and hardly more than needed."""

from __future__ import annotations

from datetime import date
from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from simengine.people.currency import Currency
from simengine.people.drills import Drills, Seats, fewest_drills
from simengine.people.roster import Requirement
from tests.amount import examples

COT = Requirement("cot", "Cot", 6, scenarios=("cot-term",))
AIRWAY = Requirement("airway", "Airway", 12, scenarios=("term", "preterm"), role="airway")
ANY = Requirement("any", "Any", 12)
SEATS: Seats = {
    "cot-term": ("leader", "airway"),
    "term": ("leader", "airway"),
    "preterm": ("airway",),
}


def need(code: str, requirement: str, day: int = 1) -> Currency:
    return Currency(code, requirement, "overdue", date(2026, 1, day))


def plan(*needs: Currency, units: dict[str, str] | None = None) -> Drills:
    where = units or {each.code: "north" for each in needs}
    return fewest_drills(needs, (COT, AIRWAY, ANY), where, SEATS)


def test_a_drill_that_meets_more_comes_first_and_people_fit_their_roles() -> None:
    planned = plan(need("a", "airway"), need("b", "any"), need("c", "any"), need("d", "cot"))
    assert [drill.met for drill in planned.drills] == [2, 2]
    seats = {
        seat.code: (drill.scenario, seat.role) for drill in planned.drills for seat in drill.seats
    }
    assert seats.keys() == {"a", "b", "c", "d"}
    assert seats["a"] in (("term", "airway"), ("preterm", "airway"))
    assert seats["d"][0] == "cot-term"
    alone = plan(need("a", "airway"), need("b", "cot"), need("c", "cot"))
    assert [drill.met for drill in alone.drills] == [2, 1]
    assert planned.unmet == ()


def test_one_role_for_three_people_takes_three_drills() -> None:
    drills = plan(need("a", "airway"), need("b", "airway"), need("c", "airway"))
    assert len(drills.drills) == 3
    assert [drill.seats[0].code for drill in drills.drills] == ["a", "b", "c"]


def test_one_person_can_meet_two_requirements_at_once() -> None:
    drills = plan(need("a", "any"), need("a", "airway"))
    (drill,) = drills.drills
    assert drill.seats[0].requirements == ("any", "airway")
    assert drill.met == 2


def test_people_of_two_units_are_not_put_into_one_drill() -> None:
    drills = plan(need("a", "any"), need("b", "any"), units={"a": "north", "b": "south"})
    assert {drill.unit for drill in drills.drills} == {"north", "south"}


def test_what_no_scenario_here_can_meet_is_told() -> None:
    gone = Requirement("gone", "Gone", 6, scenarios=("not-here",))
    drills = fewest_drills([need("a", "gone")], (gone,), {"a": "north"}, SEATS)
    assert drills.drills == ()
    assert drills.unmet == (need("a", "gone"),)


def fewest_by_trying_all(needs: frozenset[tuple[str, str]]) -> int:
    """The fewest drills, by trying every way to seat people, drill after drill."""
    by_id = {requirement.id: requirement for requirement in (COT, AIRWAY, ANY)}
    people = sorted({code for code, _ in needs})
    ways: set[frozenset[tuple[str, str]]] = set()
    for scenario, roles in SEATS.items():
        for seated in permutations([*people, *[""] * len(roles)], len(roles)):
            ways.add(
                frozenset(
                    (code, id_)
                    for code, id_ in needs
                    for person, role in zip(seated, roles, strict=True)
                    if person == code
                    and (not by_id[id_].scenarios or scenario in by_id[id_].scenarios)
                    and by_id[id_].role in (None, role)
                )
            )
    drills, reached = 0, {needs}
    while frozenset() not in reached:
        drills += 1
        reached = {left - way for left in reached for way in ways}
    return drills


@examples(60)
@given(
    st.frozensets(
        st.tuples(st.sampled_from("abc"), st.sampled_from(["cot", "airway", "any"])), max_size=7
    )
)
def test_it_meets_everything_with_no_more_drills_than_a_greedy_cover_may_take(
    needs: frozenset[tuple[str, str]],
) -> None:
    drills = plan(*(need(code, id_) for code, id_ in sorted(needs)))
    met = {
        (seat.code, id_)
        for drill in drills.drills
        for seat in drill.seats
        for id_ in seat.requirements
    }
    assert met == needs
    for drill in drills.drills:
        assert len({seat.code for seat in drill.seats}) == len(drill.seats)
        assert len({seat.role for seat in drill.seats}) == len(drill.seats)
    fewest = fewest_by_trying_all(needs)
    most = max((drill.met for drill in drills.drills), default=1)
    assert fewest <= len(drills.drills) <= fewest * sum(1 / n for n in range(1, most + 1)) + 1e-9


def test_many_people_take_no_more_drills_than_seats_ask_for() -> None:
    needs = [need(f"p{n:03d}", "any") for n in range(500)]
    drills = plan(*needs)
    assert len(drills.drills) == 250  # two seats in each
