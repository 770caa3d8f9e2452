"""Attendance without a score: recorded on a page or from a file, certified, evidence of nothing."""

from __future__ import annotations

from datetime import date
from io import BytesIO

import pytest

from simengine.people.roster import Attendance
from simengine.store import people
from simengine.store.attendances import attendances
from simengine.store.lists import currency_of
from tests.coordinator.ward import NEEDS, PEOPLE, Ward, words_of

MORNING = {
    "do": "add",
    "title": "Study morning on the cot",
    "day": "2026-11-01",
    "minutes": "90",
    "place": "seminar room",
    "who": "ada example\nM-021; M-021",
}


def read_pdf(content: bytes) -> str:
    from pypdf import PdfReader

    pages = PdfReader(BytesIO(content)).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


def test_who_attended_is_told_by_code_or_name_and_makes_nobody_current(ward: Ward) -> None:
    ward.import_roster()
    store = ward.hub.store
    whole = people.roster(store)
    before = currency_of(store, whole, date(2026, 11, 2))
    answer = ward.coordinator.form("/cohort/attendance", **MORNING)
    assert answer.status_code == 303, words_of(answer)
    assert "Saved: 2 people attended." in words_of(
        ward.coordinator.client.get(answer.headers["location"])
    )
    kept = attendances(store)
    assert {attendance.code for attendance in kept} == {"N-104", "M-021"}
    assert {(attendance.title, attendance.minutes, attendance.place) for attendance in kept} == {
        ("Study morning on the cot", 90, "seminar room")
    }
    assert currency_of(store, whole, date(2026, 11, 2)) == before
    words = words_of(ward.coordinator.client.get("/cohort/people/N-104"))
    assert "1 November 2026 Study morning on the cot 1 h 30 min seminar room" in words
    assert "it counts as attendance and never as an outcome" in words


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"who": "Zoe Nobody"}, "“Zoe Nobody” is nobody's code or name on the roster."),
        ({"who": " ; "}, "Who was there: give codes or names"),
        ({"minutes": "two hours"}, "How long: expected whole minutes from 1 to 1440"),
        ({"minutes": "0"}, "How long: expected whole minutes from 1 to 1440, found '0'."),
        ({"day": "soon"}, "Day: expected a day up to today, such as"),
        ({"day": "2999-01-01"}, "found '2999-01-01'."),
        ({"title": "  "}, "What was attended: say it in a few words."),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_kept(
    ward: Ward, wrong: dict[str, str], told: str
) -> None:
    ward.import_roster()
    answer = ward.coordinator.form("/cohort/attendance", **{**MORNING, **wrong})
    assert answer.status_code == 422
    assert told in words_of(answer).replace("&#39;", "'")
    assert attendances(ward.hub.store) == ()


def test_a_name_that_two_people_have_asks_for_the_code(ward: Ward) -> None:
    ward.import_roster(PEOPLE.replace("Ben Example", "Ada Example"), NEEDS)
    answer = ward.coordinator.form("/cohort/attendance", **{**MORNING, "who": "Ada Example"})
    assert "“Ada Example” is the name of several people: give the code." in words_of(answer)


def test_an_attendance_told_again_is_put_right_and_one_by_mistake_is_removed(ward: Ward) -> None:
    ward.import_roster()
    ward.coordinator.form("/cohort/attendance", **MORNING)
    ward.coordinator.form("/cohort/attendance", **{**MORNING, "minutes": "60", "who": "N-104"})
    store = ward.hub.store
    assert sorted((attendance.code, attendance.minutes) for attendance in attendances(store)) == [
        ("M-021", 90),
        ("N-104", 60),
    ]
    ward.coordinator.form(
        "/cohort/attendance", do="remove", code="M-021", day=MORNING["day"], title=MORNING["title"]
    )
    assert [attendance.code for attendance in attendances(store)] == ["N-104"]


def test_attendances_come_in_with_the_roster_in_an_offices_own_words(ward: Ward) -> None:
    file = (
        "name,Date attended,Course,Duration,Venue\n"
        "Ada Example,2026-06-12,Study morning,2 h,room 1\n"
        "Ben Example,2026-06-12,Study morning,90 min,\n"
    )
    ward.import_roster(PEOPLE, NEEDS, file)
    assert sorted(attendances(ward.hub.store), key=lambda attendance: attendance.code) == [
        Attendance("M-021", date(2026, 6, 12), "Study morning", 90),
        Attendance("N-104", date(2026, 6, 12), "Study morning", 120, "room 1"),
    ]


def test_a_certificate_says_what_was_attended_and_for_how_long_and_nothing_of_how(
    ward: Ward,
) -> None:
    ward.import_roster()
    ward.held(purpose="formative", unit="birth unit")
    ward.held(purpose="rehearsal", unit="birth unit")
    ward.coordinator.form("/cohort/attendance", **MORNING)
    ward.coordinator.form("/cohort/settings", issuer="Simulation centre, Example Hospital")
    answer = ward.coordinator.client.get("/cohort/people/N-104/attendance.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert "attendance-N-104.pdf" in answer.headers["content-disposition"]
    pdf_text = read_pdf(answer.content)
    for words in (
        "Certificate of attendance",
        "Ada Example",
        "Issued by Simulation centre, Example Hospital",
        "Study morning on the cot",
        "1 h 30 min",
        "2 trainings, 1 h 33 min",
        "Term newborn who is not breathing",
        "it is no proof of competence in the care of a real baby",
    ):
        assert words in pdf_text, (words, pdf_text)
    for never in ("achieved", "score", "%", "safe", "is competent"):
        assert never not in pdf_text
    only = ward.coordinator.client.get(
        "/cohort/people/N-104/attendance.pdf?since=2026-11-01&until=2026-11-01"
    )
    assert "1 training, 1 h 30 min" in read_pdf(only.content)
    none = ward.coordinator.client.get("/cohort/people/N-117/attendance.pdf")
    assert none.status_code == 404
    assert "Nothing was attended" in none.text


def test_who_issues_nothing_yet_writes_it_on_a_line(ward: Ward) -> None:
    ward.import_roster()
    ward.coordinator.form("/cohort/attendance", **MORNING)
    answer = ward.coordinator.client.get("/cohort/people/M-021/attendance.pdf")
    assert "Issued by (name and post)" in read_pdf(answer.content)
