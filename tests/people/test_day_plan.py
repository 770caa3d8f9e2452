"""Every group through every scenario, nobody in two places at once."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.people.day_plan import clock_time, rounds, spread

few = st.integers(1, 6)


@given(groups=few, scenarios=few, stations=few)
def test_each_group_has_each_scenario_once_and_is_in_one_place_at_a_time(
    groups: int, scenarios: int, stations: int
) -> None:
    plan = rounds(groups, scenarios, stations)
    held = [(group, scenario) for each in plan for group, scenario, _ in each.sessions]
    assert sorted(held) == [(g, s) for g in range(groups) for s in range(scenarios)]
    for each in plan:
        assert each.sessions
        for place in (0, 1, 2):
            taken = [session[place] for session in each.sessions]
            assert len(set(taken)) == len(taken)
        assert all(station < stations for _, _, station in each.sessions)
    for scenario in range(scenarios):
        assert len({s for each in plan for _, this, s in each.sessions if this == scenario}) == 1


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5, 6])
def test_as_many_groups_as_scenarios_and_stations_all_work_all_the_time(number: int) -> None:
    # A Latin square has as many rounds as rows: Euler, Recherches sur une nouvelle espèce de
    # quarrés magiques, 1782.
    plan = rounds(number, number, number)
    assert [len(each.sessions) for each in plan] == [number] * number


def test_at_one_station_all_follow_one_another() -> None:
    assert [each.sessions for each in rounds(2, 2, 1)] == [
        ((0, 0, 0),), ((1, 0, 0),), ((0, 1, 0),), ((1, 1, 0),),
    ]  # fmt: skip


def test_a_time_of_day_moves_on_and_no_day_has_more_than_24_hours() -> None:
    assert clock_time("08:50", 75) == "10:05"
    with pytest.raises(ValueError, match="past midnight"):
        clock_time("23:30", 30)


def test_stations_without_a_name_are_numbered() -> None:
    assert spread(("Birth room 2",), 3) == ("Birth room 2", "Station 2", "Station 3")
