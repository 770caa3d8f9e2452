"""The coordinator's first page: from nothing to who is current, in a few steps."""

from __future__ import annotations

import csv
import io
import re
from html import unescape
from urllib.parse import parse_qs

from icalendar import Calendar
from openpyxl import load_workbook

from simengine.cohort.chance import SURE, TARGET
from tests.cohort.made import item, result
from tests.coordinator.ward import NEEDS, PEOPLE, Ward, words_of

NOW = "On 15 January 2027"


def test_an_empty_store_says_what_to_do_next(ward: Ward) -> None:
    words = words_of(ward.coordinator.client.get("/cohort"))
    assert "What to do next" in words
    assert "Import the people" in words
    assert "The due list" not in words
    ward.import_roster(PEOPLE)
    words = words_of(ward.coordinator.client.get("/cohort"))
    assert "Import the people done" in words
    assert "Say who needs what, how often done" not in words


def test_from_nothing_to_who_is_due_takes_one_import(ward: Ward) -> None:
    ward.import_roster(PEOPLE, NEEDS)
    words = words_of(ward.coordinator.client.get("/cohort"))
    assert f"{NOW} 0 ▼ overdue 6 ○ never met 0 ◆ due soon 0 ● current" in words
    assert "Dora Example N-117 ○ never met Cot preparation first due by 1 March 2027" in words
    # nurses alone need the cot preparation, which is 2 of the 4 people
    assert words.count("○ never met Cot preparation") == 2


def test_the_list_can_be_asked_for_by_unit_profession_requirement_and_standing(ward: Ward) -> None:
    ward.import_roster()
    for query, rows in (
        ("unit=neonatal+unit", {"D-009", "N-117"}),
        ("profession=midwife", {"M-021"}),
        ("requirement=cot", {"N-104", "N-117"}),
        ("status=overdue", set()),
        ("unit=birth+unit&profession=nurse", {"N-104"}),
        ("unit=no+such+unit", {"N-104", "M-021", "D-009", "N-117"}),
    ):
        page = ward.coordinator.client.get(f"/cohort?{query}").text
        assert set(re.findall(r"/cohort/people/([\w-]+)\"", page)) == rows, query


def test_a_signed_outcome_makes_people_current_and_its_age_makes_them_due_again(
    ward: Ward,
) -> None:
    ward.import_roster()
    session = ward.held(purpose="summative")
    ward.signed(session)
    words = words_of(ward.coordinator.client.get("/cohort"))
    assert "N-104 ● current A resuscitation in the airway role 15 January 2028 15 January" in words
    assert "M-021 ○ never met A resuscitation in the airway role" in words, "not in that role"
    ward.later(days=320)
    words = words_of(ward.coordinator.client.get("/cohort"))
    assert "N-104 ◆ due soon" in words
    assert "15 January 2028 (in 45 days)" in words
    ward.later(days=46)
    words = words_of(ward.coordinator.client.get("/cohort"))
    assert "N-104 ▼ overdue" in words
    assert "(1 day ago)" in words


def test_a_learning_session_and_one_whose_outcome_nobody_signed_make_nobody_current(
    ward: Ward,
) -> None:
    ward.import_roster()
    ward.held(purpose="formative")
    ward.held(purpose="summative")
    assert "0 ● current" in words_of(ward.coordinator.client.get("/cohort"))


def test_long_lists_come_a_page_at_a_time(ward: Ward) -> None:
    rows = "".join(f"p{n:04d},,nurse,birth unit,2024-03-01\n" for n in range(130))
    ward.import_roster("code,name,profession,unit,since\n" + rows, NEEDS)
    seen: set[str] = set()
    address = "/cohort?requirement=cot"
    sizes = []
    for _ in range(3):
        page = ward.coordinator.client.get(address).text
        codes = re.findall(r"/cohort/people/([\w-]+)\"", page)
        sizes.append(len(codes))
        assert seen.isdisjoint(codes)
        seen |= set(codes)
        after = re.search(r'rel="next" href="([^"]+)"', page)
        address = after.group(1).replace("&amp;", "&") if after else ""
    assert sizes == [50, 50, 30]
    assert address == ""
    assert ward.coordinator.client.get("/cohort?page=99999").status_code == 200
    assert ward.coordinator.client.get("/cohort?page=-1").status_code == 200


def test_a_page_of_500_people_by_objective_stays_small_and_says_few_where_they_are(
    ward: Ward,
) -> None:
    rows = "".join(f"p{n:04d},,nurse,birth unit,2024-03-01\n" for n in range(500))
    ward.import_roster("code,name,profession,unit,since\n" + rows, NEEDS)
    for number in range(6):
        own = item(person="p0000", objective="breathing")
        few = item("warm", person="p0001", objective="warmth", role="assistant")
        ward.keep(
            result(
                number,
                own,
                *([few] if number == 0 else []),
                scenario=f"scenario-{number % 3}",
                team={"airway": ("p0000",), "assistant": ("p0001",)},
                objectives={"breathing": "Move the chest", "warmth": "Keep the baby warm"},
            )
        )
    page = ward.coordinator.client.get("/cohort/matrix")
    assert len(page.content) < 120_000
    words = words_of(page)
    assert "1 to 50 of 500" in words
    assert "Person Keep the baby warm Move the chest p0000" in words
    assert "· no attempts ● likely to meet it 6 of 6 met; met last time p0001" in words
    assert "? too few to tell 1 of 1 met; met last time" in words
    cells = re.findall(r"<td[^>]*>(.*?)</td>", page.text, re.DOTALL)
    assert len(cells) == 100
    assert not [cell for cell in cells if "%" in cell], "no bare percentage in a cell"
    assert all('class="standing"' in cell for cell in cells)
    assert page.text.count('<th scope="row">') == 50


def test_the_due_list_is_searched_and_leaves_with_every_line_that_is_shown(ward: Ward) -> None:
    ward.import_roster()
    client = ward.coordinator.client
    page = words_of(client.get("/cohort?search=ben"))
    assert "Ben Example" in page
    assert "Cleo Example" not in page
    everything = client.get("/cohort/due.csv").text
    assert all(name in everything for name in ("Ada Example", "Ben Example", "Cleo Example"))
    shown = client.get("/cohort/due.csv?search=BEN")
    assert "attachment" in shown.headers["content-disposition"]
    assert "Cleo Example" not in shown.text
    assert client.get("/cohort/due.xlsx?search=ben").content.startswith(b"PK")
    calendar = client.get("/cohort/due.ics?search=ben").text
    assert "BEGIN:VCALENDAR" in calendar
    assert "Ben Example" in calendar
    read = words_of(client.get("/cohort/access"))
    assert "due list as CSV" in read


def test_the_list_by_unit_has_reminders_that_name_nobody_else(ward: Ward) -> None:
    ward.import_roster()
    text = ward.coordinator.client.get("/cohort/due").text
    assert "mailto:?subject=" in text
    words = words_of(ward.coordinator.client.get("/cohort/due"))
    for_ben = words.partition("Dear Ben Example,")[2].partition("Open in the mail program")[0]
    assert "A resuscitation in the airway role" in for_ben
    assert "Ada Example" not in for_ben


def test_csv_spreadsheet_and_calendar_have_the_lines_that_the_filters_show(ward: Ward) -> None:
    """Each read by a reader of others: the standard library, openpyxl, icalendar."""
    ward.import_roster()
    ward.signed(ward.held(purpose="summative"))  # Ada Example is current in the airway role
    client, query = ward.coordinator.client, "?unit=birth+unit&search=example"
    page = client.get(f"/cohort{query}").text
    for ending in ("csv", "xlsx", "ics"):
        (address,) = set(re.findall(rf'href="(/cohort/due\.{ending}\?[^"]*)"', page))
        assert client.get(unescape(address)).status_code == 200
    text = client.get(f"/cohort/due.csv{query}").content.decode("utf-8-sig")
    of_csv = [
        (row["code"], row["name"], row["requirement"], row["standing"])
        for row in csv.DictReader(io.StringIO(text, newline=""))
    ]
    assert sorted(of_csv) == [
        ("M-021", "Ben Example", "A resuscitation in the airway role", "never met"),
        ("N-104", "Ada Example", "A resuscitation in the airway role", "current"),
        ("N-104", "Ada Example", "Cot preparation", "never met"),
    ]
    book = load_workbook(io.BytesIO(client.get(f"/cohort/due.xlsx{query}").content))
    heading, *rows = book.worksheets[0].iter_rows(values_only=True)
    of_sheet = [dict(zip(heading, row, strict=True)) for row in rows]
    assert [(r["code"], r["name"], r["requirement"], r["standing"]) for r in of_sheet] == of_csv
    calendar = Calendar.from_ical(client.get(f"/cohort/due.ics{query}").content)
    assert sorted(str(event["summary"]) for event in calendar.walk("VEVENT")) == [
        "A resuscitation in the airway role: Ben Example (never met)",
        "Cot preparation: Ada Example (never met)",
    ]


def test_the_printed_list_stands_by_unit_with_what_is_to_do_alone(ward: Ward) -> None:
    ward.import_roster()
    ward.signed(ward.held(purpose="summative"))
    text = ward.coordinator.client.get("/cohort/due").text
    of_unit = dict(re.findall(r'<h2 id="unit-\d+">([^<]+)</h2>(.*?)</section>', text, re.DOTALL))
    assert list(of_unit) == ["birth unit", "neonatal unit"]
    rows = {
        unit: re.findall(r'<tr><th scope="row">([^<]+)</th>.*?"Requirement">([^<]+)<', part)
        for unit, part in of_unit.items()
    }
    assert sorted(rows["birth unit"]) == [
        ("Ada Example", "Cot preparation"),
        ("Ben Example", "A resuscitation in the airway role"),
    ]
    assert {who for who, _ in rows["neonatal unit"]} == {"Cleo Example", "Dora Example"}


def test_a_reminder_is_there_for_each_person_and_for_all_of_a_unit_to_copy_and_to_mail(
    ward: Ward,
) -> None:
    ward.import_roster()
    text = ward.coordinator.client.get("/cohort/due?unit=birth+unit").text
    reminders = re.findall(
        r'"field">([^<]+) <textarea[^>]* readonly>([^<]*)</textarea>.*?href="(mailto:[^"]*)"',
        text,
        re.DOTALL,
    )
    assert [who for who, _, _ in reminders] == [
        "To all of the unit", "Ben Example", "Ada Example",
    ]  # fmt: skip
    for who, to_copy, address in reminders:
        scheme, _, query = unescape(address).partition("?")
        assert scheme == "mailto:", "nobody's address"
        mail = parse_qs(query)
        assert mail["subject"] == ["Simulation training that is due"]
        (body,) = mail["body"]
        assert "Example" not in body, "an address of a page stays behind in places"
        plain = unescape(to_copy).replace(f"Dear {who},", "Hello,")
        assert plain.splitlines() == body.splitlines()
        for other in ("Ada Example", "Ben Example"):
            assert (other in to_copy) == (other == who)


def test_the_list_leaves_for_the_coordinator_alone(ward: Ward) -> None:
    ward.import_roster()
    trainee = ward.trainee("N-104")
    for path in ("/cohort/due", "/cohort/due.csv", "/cohort/due.xlsx", "/cohort/due.ics"):
        assert trainee.client.get(path).status_code == 403, path


def test_likely_is_told_as_it_is_worked_out(ward: Ward) -> None:
    """At least 95 % sure that the chance is above one half, here as in the report."""
    assert (SURE, TARGET) == (0.95, 0.5)
    words = words_of(ward.coordinator.client.get("/cohort/matrix"))
    assert (
        "at least 95 % sure that the chance of meeting the standard next time is above 50 %"
        in words
    )
