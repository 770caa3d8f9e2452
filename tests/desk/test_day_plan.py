"""A day's plan on the desk: made, begun by a touch, ticked off, cancelled."""

from __future__ import annotations

import re
from datetime import date
from html import unescape

import pytest

from simengine.people.bookings import Booking, NamedTeam
from simengine.store.bookings import book, booking, bookings_on
from simengine.store.teams import keep_team, teams
from tests.coordinator.ward import Ward

TODAY = date(2027, 1, 15)
PLAN = {
    "on": "2027-01-15", "first": "8:30", "minutes": "40", "gap": "20", "purpose": "formative",
    "scenario.term-responds": "yes", "scenario.cot-term": "yes",
}  # fmt: skip


def test_groups_go_through_scenarios_at_stations(ward: Ward) -> None:
    keep_team(ward.hub.store, NamedTeam("Red", {"airway": ("N-104",)}))
    ward.first_page()
    fields = {**PLAN, "team.Red": "yes", "groups": "Blue,  Green", "stations": "Room 1, Room 2"}
    assert ward.form("/day", **fields).headers["location"] == "/day?on=2027-01-15"
    plan = bookings_on(ward.hub.store, TODAY)
    assert sorted((booked.team_name, booked.scenario) for booked in plan) == [
        (team, scenario)
        for team in ("Blue", "Green", "Red")
        for scenario in ("cot-term", "term-responds")
    ]
    assert [booked.starts for booked in plan] == [
        "08:30",
        "08:30",
        "09:30",
        "09:30",
        "10:30",
        "10:30",
    ]
    assert {booked.people for booked in plan if booked.team_name == "Red"} == {("N-104",)}
    places = {booked.scenario: booked.place for booked in plan}
    assert sorted(places.values()) == ["Room 1", "Room 2"]
    page = unescape(ward.client.get("/day?on=2027-01-15").text)
    assert page.count('value="begin"') == 6
    assert "Room 1 · Red · N-104" in page


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"groups": ""}, "Choose at least one team"),
        ({"first": "later"}, "First session: expected a time of day such as 09:30, found 'later'"),
        ({"minutes": "0"}, "Each session: expected whole minutes from 1 to 480, found '0'"),
        ({"gap": "x"}, "Between two sessions: expected whole minutes from 0 to 480, found 'x'"),
        ({"first": "23:00"}, "The plan would go past midnight: begin earlier, or plan fewer."),
        ({"groups": ",".join(map(str, range(40)))}, "At most 60 sessions at once, found 80."),
        ({"purpose": "rehearsal"}, "What it is for"),
    ],
)
def test_what_can_not_be_planned_is_said_and_nothing_is_kept(
    ward: Ward, fields: dict[str, str], words: str
) -> None:
    ward.first_page()
    answer = ward.form("/day", **{**PLAN, "groups": "Blue, Green", **fields})
    assert answer.status_code == 422
    assert words in unescape(answer.text)
    assert bookings_on(ward.hub.store, TODAY) == ()


def test_one_touch_begins_a_session_with_its_team_and_a_second_begins_no_other(
    ward: Ward,
) -> None:
    team = {"airway": ("N-104",), "": ("M-021",)}
    book(ward.hub.store, [Booking("b1", TODAY, "term-responds", "09:00", unit="north", team=team)])
    assert "Planned for today" in ward.first_page()
    first = ward.form("/bookings/b1", do="begin").headers["location"]
    assert ward.form("/bookings/b1", do="begin").headers["location"] == first
    plan = ward.hub.plan_of(first.split("/")[2])
    assert plan.team["airway"] == ("N-104",)
    assert ("M-021",) in plan.team.values()
    assert plan.unit == "north"
    page = ward.client.get("/day").text
    assert f'href="{first}"' in page
    assert "✓ begun" in page


def test_it_is_ticked_off_and_taken_back_and_cancelled(ward: Ward) -> None:
    book(ward.hub.store, [Booking("b1", TODAY, "term-responds")])
    back = ward.form("/bookings/b1", do="tick")
    assert back.headers["location"] == "/day?on=2027-01-15"
    assert "✓ held" in ward.client.get("/day").text
    ward.form("/bookings/b1", do="untick")
    assert "✓ held" not in ward.client.get("/day").text
    ward.form("/bookings/b1", do="cancel")
    assert bookings_on(ward.hub.store, TODAY) == ()
    cancelled = booking(ward.hub.store, "b1")
    assert cancelled is not None
    assert cancelled.cancelled
    assert ward.form("/bookings/none", do="tick").status_code == 404


def test_a_scenario_that_is_gone_is_said_to_be_gone(ward: Ward) -> None:
    book(ward.hub.store, [Booking("b1", TODAY, "no-such-scenario")])
    answer = ward.form("/bookings/b1", do="begin")
    assert answer.status_code == 409
    assert "can't be loaded any more" in unescape(answer.text)


def test_the_days_before_and_after_are_a_touch_away(ward: Ward) -> None:
    page = ward.client.get("/day").text
    assert "Plan of the day: Today" in page
    assert re.findall(r'rel="(?:prev|next)" href="([^"]+)"', page) == [
        "/day?on=2027-01-14",
        "/day?on=2027-01-16",
    ]
    assert "Plan of the day: 16 January 2027" in ward.client.get("/day?on=2027-01-16").text


def test_a_team_that_is_kept_no_longer_is_offered_no_more_and_its_sessions_stay(ward: Ward) -> None:
    for name in ("Red", "Blue"):
        keep_team(ward.hub.store, NamedTeam(name, {"airway": ("N-104",)}))
    ward.first_page()
    ward.form("/day", **PLAN, **{"team.Red": "yes"})
    back = ward.form("/teams", drop="Red", on="2027-01-15").headers["location"]
    page = ward.client.get(back).text
    assert 'name="team.Blue"' in page
    assert 'name="team.Red"' not in page
    assert "Red · N-104" in unescape(page)
    ward.form("/teams", drop="Nobody", on="never")
    assert [team.name for team in teams(ward.hub.store, limit=None)] == ["Blue"]
