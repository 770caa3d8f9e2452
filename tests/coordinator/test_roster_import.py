"""A roster goes in by upload: a dry run first, with every problem by row."""

from __future__ import annotations

from simengine.store import people
from tests.coordinator.ward import NEEDS, PEOPLE, Ward, save, send_files, words_of

# As a spreadsheet program saves it where commas are decimal: semicolons, a mark at the start.
EXCEL = "\ufeffcode;name;profession;unit;since\r\nN-104;Zoë Example;nurse;birth unit;01.03.2024\r\n"


def test_a_dry_run_says_what_would_change_and_saves_nothing(ward: Ward) -> None:
    answer = send_files(ward.coordinator, PEOPLE, NEEDS)
    words = words_of(answer)
    assert "4 people would be added." in words
    assert "Asked from now on: Cot preparation, every 6 months." in words
    assert people.roster(ward.hub.store).trainees == ()
    save(ward.coordinator, answer.text)
    assert len(people.roster(ward.hub.store).trainees) == 4
    again = words_of(send_files(ward.coordinator, PEOPLE, NEEDS))
    assert "Nothing: it is all there already." in again


def test_every_wrong_row_is_told_with_its_file_and_number_and_nothing_is_saved(ward: Ward) -> None:
    wrong = PEOPLE + "N-200,Eve Example,nurse,birth unit,31.02.2026,\nN-201,Fay Example,,,never,\n"
    answer = send_files(ward.coordinator, wrong, NEEDS.replace(",6,", ",six,"))
    assert answer.status_code == 422
    words = words_of(answer)
    assert "Not yet: please look at these rows" in words
    assert "file-1.csv, row 6" in words
    assert words.count("file-1.csv, row 7") == 3, "profession, unit and day"
    assert "file-2.csv, row 2" in words
    assert "&#39;six&#39;" in words
    assert "/tmp/" not in answer.text
    assert people.roster(ward.hub.store).trainees == ()
    assert 'name="save"' not in answer.text


def test_a_file_as_a_spreadsheet_program_saves_it_goes_in(ward: Ward) -> None:
    ward.import_roster(EXCEL)
    (trainee,) = people.roster(ward.hub.store).trainees
    assert (trainee.code, trainee.name, str(trainee.postings[0].since)) == (
        "N-104",
        "Zoë Example",
        "2024-03-01",
    )


def test_what_was_understood_and_what_is_asked_is_said_back_before_anything_is_saved(
    ward: Ward,
) -> None:
    rows = "Surname;First name;Job title;Ward;Start date\n" + "".join(
        f"Example{number};Ada;{job};{unit};01.03.2024\n"
        for number, (job, unit) in enumerate(
            [("Nurse", "Birth centre"), ("nurse", "BIRTH centre"), ("Nurse", "Brith centre")]
        )
    )
    words = words_of(send_files(ward.coordinator, rows))
    assert (
        "file-1.csv: read “job title” as profession, “ward” as unit, “start date” as since and "
        "“first name and surname” as name."
    ) in words
    assert "“nurse” was read as “Nurse”, which differs in case or blanks alone." in words
    assert "is this one unit? then write it alike in the file" in words
    assert "3 people would be added" in words
    assert people.roster(ward.hub.store).trainees == ()


def test_the_same_complaint_about_81_rows_is_one_line_on_the_page(ward: Ward) -> None:
    rows = "".join(f"Person {n},nurse,birth unit,03/04/2024\n" for n in range(81))
    answer = send_files(ward.coordinator, "name,profession,unit,since\n" + rows)
    assert answer.status_code == 422
    words = words_of(answer)
    assert words.count("file-1.csv, row") == 1
    assert "in 81 rows (2 to 82)" in words


def test_who_has_no_code_gets_one_that_stands_in_the_list(ward: Ward) -> None:
    answer = send_files(
        ward.coordinator,
        "code,name,profession,unit,since\n,Ada Example,nurse,birth unit,2024-03-01\n",
    )
    assert "1 person would be added; 1 get a new code." in words_of(answer)
    save(ward.coordinator, answer.text)
    (trainee,) = people.roster(ward.hub.store).trainees
    assert len(trainee.code) == 8
    page = ward.coordinator.client.get("/cohort/matrix").text
    assert trainee.code in page


def test_what_is_no_table_and_no_file_are_told_in_words(ward: Ward) -> None:
    answer = send_files(ward.coordinator, b"PK\x03\x04 a spreadsheet program's own file")
    assert answer.status_code == 422
    assert "save as CSV" in words_of(answer)
    answer = send_files(ward.coordinator)
    assert answer.status_code in (415, 422)
    assert words_of(answer)


def test_a_roster_that_is_too_large_for_the_page_is_sent_to_the_command_line(ward: Ward) -> None:
    row = "p{:06d},Somebody Of A Long Name,nurse,birth unit,2024-03-01\n"
    rows = "".join(row.format(number) for number in range(4000))
    answer = send_files(ward.coordinator, "code,name,profession,unit,since\n" + rows)
    assert answer.status_code == 413
    assert "simengine import" in words_of(answer)


def test_a_name_is_shown_as_text_whatever_it_holds(ward: Ward) -> None:
    evil = "<script>alert(1)</script>"
    rows = f'code,name,profession,unit,since\nN-104,"{evil}",nurse,birth unit,2024-03-01\n'
    dry = send_files(ward.coordinator, rows, NEEDS)
    save(ward.coordinator, dry.text)
    for address in (
        "/cohort",
        "/cohort/matrix",
        "/cohort/people/N-104",
        "/cohort/people/N-104/audit",
    ):
        page = ward.coordinator.client.get(address).text
        assert "<script>alert" not in page, address
        assert "&lt;script&gt;alert(1)" in page, address


def test_an_import_needs_the_token_of_the_page(ward: Ward) -> None:
    ward.coordinator.token = "wrong"
    assert send_files(ward.coordinator, PEOPLE, save="yes").status_code == 403
    assert people.roster(ward.hub.store).trainees == ()
