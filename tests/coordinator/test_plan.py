"""Sessions planned with day, time, place and people: offered, kept, changed, held, in calendars."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from html import unescape

import pytest
from icalendar import Calendar

from simengine.people.bookings import Booking
from simengine.quantities.formatting import day as day_words
from simengine.store.attendances import attendances
from simengine.store.bookings import bookings_between, bookings_of
from tests.coordinator.ward import Ward, words_of

DAY = datetime.now(tz=UTC).date() + timedelta(days=90)
WANTED = {
    "do": "book",
    "scenario": "term-not-breathing",
    "purpose": "summative",
    "day": DAY.isoformat(),
    "starts": "9:30",
    "minutes": "60",
    "place": "room 1",
    "unit": "birth unit",
    "team": "Airway: ada example\nM-021",
}


def planned(ward: Ward) -> tuple[Booking, ...]:
    return bookings_between(ward.hub.store, date(2000, 1, 1), date(3000, 1, 1), cancelled=True)


def filled(page: str) -> dict[str, str]:
    """What the form that plans a session is filled in with."""
    form = page[page.index('<form class="card" id="plan"') :].partition("</form>")[0]
    out = {
        name: unescape(value)
        for name, value in re.findall(r'<input[^>]*? name="(\w+)"[^>]*? value="([^"]*)"', form)
    }
    for name, options in re.findall(r'<select name="(\w+)".*?>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', options)
        out[name] = chosen[1] if chosen else ""
    team = re.search(r"<textarea[^>]*>(.*?)</textarea>", form, re.DOTALL)
    assert team is not None
    return {**out, "team": unescape(team[1])}


def test_a_session_is_planned_with_people_by_name_or_code_in_roles_or_none(ward: Ward) -> None:
    ward.import_roster()
    answer = ward.coordinator.form("/cohort/plan", **{**WANTED, "unit": "Birth  UNIT"})
    assert answer.status_code == 303, words_of(answer)
    (booked,) = planned(ward)
    assert (booked.day, booked.starts, booked.minutes) == (DAY, "09:30", 60)
    assert booked.team == {"": ("M-021",), "airway": ("N-104",)}
    words = words_of(ward.coordinator.client.get("/cohort/plan"))
    assert f"{day_words(DAY)}, 09:30 (60 min) · Term newborn who is not breathing" in words
    assert "assessment · room 1, birth unit" in words
    due = words_of(ward.coordinator.client.get("/cohort"))
    assert f"session planned on {day_words(DAY)}" in due


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"scenario": ""}, "Scenario: choose one from the list."),
        ({"day": "2001-01-01"}, "found '2001-01-01'."),
        ({"day": "2999-01-01"}, "found '2999-01-01'."),
        ({"starts": "half nine"}, "Begins: expected a time of day such as 09:30"),
        ({"minutes": "0"}, "How long: expected whole minutes from 1 to 1440, found '0'."),
        ({"team": "Driver: N-104"}, "“Driver” is not a role in this scenario: expected"),
        ({"team": "Airway: Zoe"}, "“Zoe” is nobody's code or name on the roster."),
        ({"team": "Airway: N-104\nAda Example"}, "Ada Example is listed more than once."),
    ],
)
def test_what_is_wrong_is_told_and_what_was_typed_stays(
    ward: Ward, wrong: dict[str, str], told: str
) -> None:
    ward.import_roster()
    answer = ward.coordinator.form("/cohort/plan", **{**WANTED, **wrong})
    assert answer.status_code == 422
    assert told in unescape(words_of(answer))
    assert filled(answer.text)["place"] == "room 1"
    assert planned(ward) == ()


def test_a_planned_session_is_changed_cancelled_and_planned_again(ward: Ward) -> None:
    ward.import_roster()
    ward.coordinator.form("/cohort/plan", **WANTED)
    (booked,) = planned(ward)
    form = filled(ward.coordinator.client.get(f"/cohort/plan?change={booked.id}").text)
    assert form["team"] == "Ben Example\nAirway and breathing: Ada Example"
    assert form["id"] == booked.id
    ward.coordinator.form("/cohort/plan", **{**form, "do": "change", "starts": "14:00"})
    (booked,) = planned(ward)
    assert (booked.starts, booked.changes, booked.team[""]) == ("14:00", 1, ("M-021",))
    ward.coordinator.form("/cohort/plan", do="cancel", id=booked.id)
    assert "cancelled" in words_of(ward.coordinator.client.get("/cohort/plan"))
    assert planned(ward)[0].cancelled
    ward.coordinator.form("/cohort/plan", do="restore", id=booked.id)
    assert not planned(ward)[0].cancelled
    gone = ward.coordinator.form("/cohort/plan", do="cancel", id="nothing")
    assert gone.status_code == 404


def test_the_fewest_drills_are_offered_planned_together_and_not_offered_again(ward: Ward) -> None:
    ward.import_roster()
    page = ward.coordinator.client.get("/cohort/drills")
    offered = len(re.findall(r"Plan this one", page.text))
    assert offered > 1
    form = {
        "day": DAY.isoformat(),
        "starts": "08:00",
        "minutes": "45",
        "apart": "7",
        "place": "room",
    }
    wrong = ward.coordinator.form("/cohort/drills", **{**form, "apart": "often"})
    assert wrong.status_code == 422
    assert "Days between: expected 0 to 366, found 'often'." in unescape(words_of(wrong))
    assert ward.coordinator.form("/cohort/drills", **form).headers["location"] == "/cohort/plan"
    kept = planned(ward)
    assert len(kept) == offered
    assert [booked.day for booked in kept[:2]] == [DAY, DAY + timedelta(days=7)]
    assert {booked.purpose for booked in kept} == {"summative"}
    assert {booked.starts for booked in kept} == {"08:00"}
    words = words_of(ward.coordinator.client.get("/cohort/drills"))
    assert "Nobody else here is due, overdue or new to a requirement." in words
    assert "6 requirements are already planned for." in words
    due = words_of(ward.coordinator.client.get("/cohort"))
    assert f"session planned on {day_words(DAY)}" in due


def test_one_drill_and_a_persons_need_open_the_form_filled_in(ward: Ward) -> None:
    ward.import_roster()
    page = ward.coordinator.client.get("/cohort/drills").text
    address = unescape(re.findall(r'href="(/cohort/plan\?[^"#]+)', page)[0])
    assert "Example" not in address
    form = filled(ward.coordinator.client.get(address).text)
    assert form["scenario"]
    assert "Example" in form["team"]
    assert ":" in form["team"]
    person = ward.coordinator.client.get("/cohort/people/N-104").text
    assert "/cohort/plan?who=N-104" in person
    mine = filled(ward.coordinator.client.get("/cohort/plan?who=N-104").text)
    assert "Ada Example" in mine["team"]
    assert mine["unit"] == "birth unit"
    nobody = filled(ward.coordinator.client.get("/cohort/plan?who=nobody").text)
    assert nobody["team"] == ""


def test_the_calendar_of_a_team_and_of_a_person_gives_no_case_away(ward: Ward) -> None:
    ward.import_roster()
    ward.coordinator.form("/cohort/plan", **WANTED)
    own, *_ = Calendar.from_ical(ward.coordinator.client.get("/cohort/plan.ics").content).walk(
        "VEVENT"
    )
    assert own["summary"] == "Simulation: Term newborn who is not breathing"
    assert "Ada Example" in str(own["description"])
    trainee = ward.trainee("N-104")
    for calendar in (
        ward.coordinator.client.get("/cohort/plan.ics?for=team").text,
        trainee.client.get("/cohort/people/N-104/plan.ics").text,
    ):
        assert "Simulation training" in calendar
        assert "breathing" not in calendar
        assert "Example" not in calendar
    page = words_of(trainee.client.get("/cohort/people/N-104"))
    assert f"A session is planned for {day_words(DAY)}, 09:30 (60 min): room 1, birth unit." in page
    assert "Take it into a calendar" in page
    assert "not breathing" not in page
    other = Calendar.from_ical(ward.coordinator.client.get("/cohort/people/D-009/plan.ics").content)
    assert other.walk("VEVENT") == []


def test_who_came_to_what_nobody_recorded_is_kept_and_ticks_the_session_off(ward: Ward) -> None:
    ward.import_roster()
    today = re.findall(
        r'name="day" required value="([\d-]+)"',
        ward.coordinator.client.get("/cohort/attendance").text,
    )[0]
    ward.coordinator.form("/cohort/plan", **{**WANTED, "day": today})
    page = unescape(ward.coordinator.client.get("/cohort/plan").text)
    address = re.findall(r'href="(/cohort/attendance\?[^"]+)"', page)[0]
    form = unescape(ward.coordinator.client.get(address).text)
    assert (
        'name="title" maxlength="120" list="titles" autocomplete="off" required value="Term' in form
    )
    (booked,) = planned(ward)
    ward.coordinator.form(
        "/cohort/attendance",
        do="add", booking=booked.id, title="Term newborn", day=today, minutes="60", who="N-104",
    )  # fmt: skip
    assert [kept.code for kept in attendances(ward.hub.store)] == ["N-104"]
    (booked,) = planned(ward)
    assert booked.done
    assert booked.session is None
    assert bookings_of(ward.hub.store, "N-104", booked.day)[0].done
    assert "○ never met" in words_of(ward.coordinator.client.get("/cohort/people/N-104"))
