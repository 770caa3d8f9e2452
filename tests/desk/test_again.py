"""Run it again: with the same team, the next, or other people; from the end and from the list."""

from __future__ import annotations

from datetime import date

import httpx2

from simengine.people.bookings import Booking, NamedTeam
from simengine.store.bookings import book, booking
from simengine.store.teams import keep_team
from tests.console.consoles import Desk, entry
from tests.coordinator.ward import TEAM, Ward

TODAY = date(2027, 1, 15)  # as the console's clock stands
CODES = {"airway": ("N-104",), "circulation": ("M-021",), "leader": ("D-009",)}
OTHERS = {"airway": ("N-117",), "leader": ("M-021",)}


def ended(desk: Desk, **fields: str) -> str:
    session = desk.start("term-responds", **{**TEAM, **fields})
    desk.send(session, entry("closed", 1_000, {"why": "stopped early"}))
    return session


def session_in(answer: httpx2.Response) -> str:
    assert answer.status_code == 303, answer.text[-2000:]
    address = answer.headers["location"]
    assert address.endswith("/prebrief"), address
    return str(address.split("/")[2])


def test_one_touch_plans_the_same_with_the_same_team(ward: Ward) -> None:
    first = ended(ward, weight="2.9 kg", unit="Larkmoor", purpose="summative")
    again = session_in(ward.form(f"/s/{first}/again", who="same"))
    assert again != first
    old, new = ward.hub.plan_of(first), ward.hub.plan_of(again)
    for name in ("scenario", "protocol", "weight", "gestation", "unit", "purpose", "team"):
        assert getattr(new, name) == getattr(old, name), name
    assert new.display != old.display
    assert "N-104" in ward.client.get(f"/s/{again}/prebrief").text


def test_the_end_and_the_list_offer_it(ward: Ward) -> None:
    session = ended(ward)
    for page in (ward.client.get(f"/s/{session}").text, ward.first_page()):
        assert f'action="/s/{session}/again"' in page
        for who in ("same", "next"):
            assert f'name="who" value="{who}"' in page
        assert f"/?like={session}&amp;who=others" in page


def test_the_next_team_is_the_next_on_the_days_plan_which_is_ticked_off_by_it(ward: Ward) -> None:
    session = ended(ward)
    plans = [
        Booking("mine", TODAY, "term-responds", "08:00", team=CODES),
        Booking("else", TODAY, "term-not-breathing", "08:30", team=OTHERS),
        Booking("next", TODAY, "term-responds", "09:00", team=OTHERS, team_name="Blue"),
    ]
    book(ward.hub.store, plans)
    again = session_in(ward.form(f"/s/{session}/again", who="next"))
    assert dict(ward.hub.plan_of(again).team) == OTHERS
    after = booking(ward.hub.store, "next")
    assert after is not None
    assert after.session == again


def test_with_nothing_planned_the_next_team_is_the_kept_one_that_follows(ward: Ward) -> None:
    session = ended(ward)
    for name, team in (("Red", OTHERS), ("Blue", CODES), ("Green", {"airway": ("D-009",)})):
        keep_team(ward.hub.store, NamedTeam(name, team))
    green = session_in(ward.form(f"/s/{session}/again", who="next"))
    assert dict(ward.hub.plan_of(green).team) == {"airway": ("D-009",)}
    red = session_in(ward.form(f"/s/{green}/again", who="next"))
    blue = session_in(ward.form(f"/s/{red}/again", who="next"))
    assert dict(ward.hub.plan_of(red).team) == OTHERS
    assert dict(ward.hub.plan_of(blue).team) == CODES


def test_where_nothing_tells_who_is_next_people_are_picked_for_the_same_scenario(
    ward: Ward,
) -> None:
    session = ended(ward)
    answer = ward.form(f"/s/{session}/again", who="next")
    assert answer.headers["location"] == f"/?like={session}&who=others"
    page = ward.client.get(answer.headers["location"]).text
    assert 'value="term-responds" checked' in page
    assert 'value="N-104"' not in page


def test_who_was_erased_meanwhile_is_not_seated_again(ward: Ward) -> None:
    ward.import_roster()
    session = ended(ward)
    ward.results_made()
    erased = ward.coordinator.form("/cohort/people/N-104/erase", typed="N-104")
    assert erased.status_code in (200, 303), erased.text
    again = session_in(ward.form(f"/s/{session}/again", who="same"))
    team = ward.hub.plan_of(again).team
    assert dict(team) == {role: codes for role, codes in CODES.items() if role != "airway"}


def test_what_is_no_session_can_not_be_run_again(ward: Ward) -> None:
    assert ward.form("/s/nothing/again", who="same").status_code == 404


def test_what_is_changed_before_the_start_takes_its_place_on_the_plan_and_in_the_list(
    ward: Ward,
) -> None:
    book(ward.hub.store, [Booking("b1", TODAY, "term-responds", team=CODES)])
    first = session_in(ward.form("/bookings/b1", do="begin"))
    page = ward.client.get(f"/?like={first}").text
    assert f'name="like" value="{first}"' in page
    second = ward.plan("term-responds", like=first, role__airway="N-117")
    kept = booking(ward.hub.store, "b1")
    assert kept is not None
    assert kept.session == second
    listed = ward.first_page()
    assert f"/s/{second}/prebrief" in listed
    assert f"/s/{first}/prebrief" not in listed
