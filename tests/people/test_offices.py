"""A roster as personnel offices write it."""

from __future__ import annotations

import random
from datetime import date
from pathlib import Path

import pytest

from simengine.people.currency import currency
from simengine.people.read_roster import RosterRead, read_roster
from simengine.people.roster import Roster
from simengine.problems import InputError

REQUIREMENTS = "Course;Title;Every (months);Job titles\nnls;Newborn life support;12;Midwife\n"


def read(folder: Path, known: Roster | None = None, **files: str) -> RosterRead:
    for name, text in files.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return read_roster([folder], known=known, choose=random.Random(5).choice)


def test_one_spelling_in_another_case_drops_nobody_from_what_is_asked(tmp_path: Path) -> None:
    people = "name,profession,unit,since\n" + "".join(
        f"Person {number},{profession},{unit},2024-01-01\n"
        for number, (profession, unit) in enumerate(
            [
                ("Midwife", "Birth centre"),
                ("midwife", "birth centre"),
                (" MIDWIFE ", "Birth  Centre"),
                ("Midwife", "Birth centre"),
            ]
        )
    )
    roster_read = read(tmp_path, a=people, b=REQUIREMENTS)
    assert {trainee.profession for trainee in roster_read.roster.trainees} == {"Midwife"}
    assert {trainee.postings[0].unit for trainee in roster_read.roster.trainees} == {"Birth centre"}
    assert len(currency(roster_read.roster, (), date(2026, 1, 1))) == 4
    sentences = roster_read.understood()
    assert "“midwife” was read as “Midwife”, which differs in case or blanks alone." in sentences
    assert (
        "“Birth Centre” was read as “Birth centre”, which differs in case or blanks alone."
        in sentences
    )


def test_one_row_in_another_case_changes_nothing_that_is_asked_of_others(tmp_path: Path) -> None:
    first = read(
        tmp_path,
        a="code,name,profession,unit,since\nk1ab,Ann,Midwife,North,2024-01-01\n",
        b=REQUIREMENTS,
    )
    (tmp_path / "b.csv").unlink()
    again = read(
        tmp_path,
        first.roster,
        a="code,name,profession,unit,since\nk2cd,Bo,midwife,NORTH,2025-01-01\n",
    )
    due = currency(again.roster, (), date(2026, 1, 1))
    assert [entry.code for entry in due] == ["k1ab", "k2cd"]
    assert again.roster.trainees[0] == first.roster.trainees[0]
    assert again.changed == ()


def test_a_store_that_has_both_cases_asks_of_both() -> None:
    from dataclasses import replace

    from simengine.people.roster import Posting, Requirement, Trainee

    roster = Roster(
        (
            Trainee("k1ab", "Midwife", (Posting("North", date(2024, 1, 1)),)),
            Trainee("k2cd", "midwife", (Posting("north", date(2024, 1, 1)),)),
        ),
        (Requirement("nls", "NLS", 12, ("MIDWIFE",), ("NORTH",)),),
    )
    assert len(currency(roster, (), date(2026, 1, 1))) == 2
    other = replace(roster, requirements=(Requirement("nls", "NLS", 12, ("nurse",)),))
    assert currency(other, (), date(2026, 1, 1)) == ()


def test_the_headings_of_a_personnel_office_are_understood_and_said_back(tmp_path: Path) -> None:
    roster_read = read(
        tmp_path,
        people="Employee number;Surname;First name;Job title;Ward;Start date;Leaving date\n"
        "004711;Berg;Anna;Midwife;Birth centre;01.03.2024;\n",
        asked=REQUIREMENTS,
        proofs="Employee number;Course;Date issued;Issued by;Valid until\n"
        "004711;Newborn life support;05.01.2026;Regional centre;04.01.2027\n",
    )
    (anna,) = roster_read.roster.trainees
    assert (anna.name, anna.profession, anna.staff_number) == ("Anna Berg", "Midwife", "004711")
    assert anna.postings[0].unit == "Birth centre"
    (need,) = roster_read.roster.requirements
    assert (need.id, need.every_months, need.professions) == ("nls", 12, ("Midwife",))
    (proof,) = roster_read.roster.certificates
    assert (proof.code, proof.requirement) == (anna.code, "nls")
    assert proof.expires == date(2027, 1, 4)
    assert roster_read.understood() == (
        "asked.csv: read “course” as requirement and “job titles” as professions.",
        "people.csv: read “employee number” as staff_number, “job title” as profession, “ward” as "
        "unit, “start date” as since, “leaving date” as left and “first name and surname” as name.",
        "proofs.csv: read “employee number” as staff_number, “course” as requirement, “date "
        "issued” as issued, “issued by” as issuer and “valid until” as expires.",
    )


def test_a_staff_number_tells_people_of_one_name_apart_and_finds_them_again(tmp_path: Path) -> None:
    rows = (
        "staff number,name,profession,unit,since\n"
        "1,Anna Berg,nurse,north,2024-01-01\n2,Anna Berg,nurse,south,2024-01-01\n"
    )
    first = read(tmp_path, a=rows)
    assert len(first.made) == 2
    moved = rows + "2,Anna Berg-Lund,nurse,north,2026-01-01\n"
    with pytest.raises(InputError, match="Anna Berg"):
        read(tmp_path, first.roster, a=moved)
    again = read(tmp_path, first.roster, a=rows.replace("2,Anna Berg", "2,Anna Lund"))
    assert again.made == ()
    assert [trainee.name for trainee in again.roster.trainees] == ["Anna Berg", "Anna Lund"]
    assert [trainee.staff_number for trainee in again.roster.trainees] == ["1", "2"]


def test_a_file_without_a_column_of_numbers_leaves_those_that_are_known(tmp_path: Path) -> None:
    first = read(tmp_path, a="staff number,name,profession,unit,since\n7,Ann,nurse,n,2024-01-01\n")
    again = read(tmp_path, first.roster, a="name,profession,unit,since\nAnn,nurse,n,2024-01-01\n")
    assert again.roster == first.roster


def test_near_twins_are_asked_about_and_nothing_is_guessed(tmp_path: Path) -> None:
    roster_read = read(
        tmp_path,
        a="name,profession,unit,since\nAnn,nurse,Birth centre,2024-01-01\n"
        "Bo,nurse,Brith centre,2024-01-01\nCy,nurse,Ward 3,2024-01-01\n"
        "Di,nurse,Ward 4,2024-01-01\n",
    )
    (question,) = roster_read.warnings
    assert question.line == 3
    assert "one spelling of each unit, found 'Birth centre' and 'Brith centre'" in question.message
    assert "is this one unit? then write it alike" in question.message
    assert len({trainee.postings[0].unit for trainee in roster_read.roster.trainees}) == 4


def test_a_file_that_was_not_read_is_named(tmp_path: Path) -> None:
    (tmp_path / "leaves.xlsx").write_bytes(b"PK\x03\x04")
    (tmp_path / "old").mkdir()
    warnings = read(tmp_path, a="name,profession,unit,since\nAnn,nurse,north,2024-01-01\n")
    assert [Path(warning.file).name for warning in warnings.warnings] == ["leaves.xlsx", "old"]
    assert all("it was not read" in warning.message for warning in warnings.warnings)


def test_the_same_complaint_about_many_rows_is_one_line_with_its_rows(tmp_path: Path) -> None:
    rows = "".join(f"Person {n},nurse,north,03/04/2024\n" for n in range(81))
    with pytest.raises(InputError) as error:
        read(tmp_path, a="name,profession,unit,since\n" + rows)
    (problem,) = error.value.problems
    assert problem.line == 2
    assert "found '03/04/2024' in 81 rows (2 to 82)" in problem.message
    other = "".join(
        f"Person {n},nurse,north,{'soon' if n in (3, 4, 9, 12, 20) else '2024-01-01'}\n"
        for n in range(30)
    )
    with pytest.raises(InputError, match=r"'soon' in 5 rows \(5 to 6, 11, 14, 22\)"):
        read(tmp_path, a="name,profession,unit,since\n" + other)


def test_a_requirement_is_asked_from_its_first_day_on(tmp_path: Path) -> None:
    roster = read(
        tmp_path,
        a="name,profession,unit,since\nAnn,Midwife,north,2024-01-01\n",
        b="requirement,title,every_months,since,starter_days\nnls,Life support,12,2026-03-01,30\n",
    )
    assert roster.roster.requirements[0].since == date(2026, 3, 1)
    assert currency(roster.roster, (), date(2026, 2, 28)) == ()
    (due,) = currency(roster.roster, (), date(2026, 3, 1))
    assert (due.status, due.until) == ("never", date(2026, 3, 31))


def test_a_code_in_another_case_is_the_same_person(tmp_path: Path) -> None:
    rows = "code,name,profession,unit,since\nk1ab,Ann,nurse,north,2024-01-01\n"
    first = read(tmp_path, a=rows)
    again = read(
        tmp_path,
        first.roster,
        a=rows.replace("k1ab", "K1AB"),
        b="code,since,until\nK1ab,2026-01-01,2026-02-01\n",
    )
    assert again.roster.trainees == first.roster.trainees
    assert [leave.code for leave in again.roster.leaves] == ["k1ab"]
    assert "“K1AB” was read as “k1ab”, which differs in case or blanks alone." in again.understood()


def test_codes_of_two_cases_that_sessions_have_stay_two(tmp_path: Path) -> None:
    """A log is never rewritten for a roster, so its codes are what they are."""
    (tmp_path / "a.csv").write_text(
        "code,profession,unit,since\nk1ab,nurse,north,2024-01-01\nK1AB,nurse,north,2024-01-01\n",
        encoding="utf-8",
    )
    roster_read = read_roster([tmp_path], used={"k1ab", "K1AB"})
    assert roster_read.new == ("k1ab", "K1AB")


def test_a_course_is_the_same_whatever_its_case(tmp_path: Path) -> None:
    roster = read(
        tmp_path,
        a="code,name,profession,unit,since\nk1ab,Ann,nurse,north,2024-01-01\n",
        b="course,title,every (months)\nNLS,Newborn life support,12\n",
        c="code,course,issued,issued by\nk1ab,Nls,2026-01-05,Centre\n"
        "k1ab,newborn  LIFE support,2026-02-05,Centre\n",
    )
    assert [requirement.id for requirement in roster.roster.requirements] == ["nls"]
    assert [certificate.requirement for certificate in roster.roster.certificates] == ["nls", "nls"]


def test_somebody_new_whose_name_is_nearly_anothers_is_asked_about(tmp_path: Path) -> None:
    heading = "name,profession,unit,since\n"
    first = read(tmp_path, a=heading + "Anna Lindberg,nurse,north,2024-01-01\n")
    again = read(
        tmp_path,
        first.roster,
        a=heading + "Anna Lindbreg,nurse,north,2024-01-01\nBo Berg,nurse,north,2024-01-01\n",
    )
    (question,) = again.warnings
    assert (question.line, question.path) == (2, "name")
    assert "'Anna Lindberg' and 'Anna Lindbreg' (is this one person?" in question.message
    assert read(tmp_path, again.roster).warnings == (), "asked once, when they were new"
    numbered = read(
        tmp_path,
        first.roster,
        a="staff number," + heading + "12,Anna Lindbreg,nurse,north,2024-01-01\n",
    )
    assert numbered.warnings == (), "the number says who it is"
