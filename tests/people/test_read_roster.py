"""A roster is taken over as a whole, or not at all with every problem told."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from simengine.people.codes import LETTERS, erased_code, is_code, is_erased, new_code
from simengine.people.read_roster import RosterRead, read_roster
from simengine.people.roster import Leave, Posting, Roster
from simengine.problems import InputError
from simengine.resources import scenarios_dir

TRAINEES = """\
code,name,profession,unit,since
k1ab,Anna Berg,midwife,north,2024-01-01
k2cd,Bo Carls,nurse,south,2025-02-01
"""
REQUIREMENTS = """\
requirement,title,every_months,professions,scenarios,role
airway,Airway role,12,midwife; nurse,term,leader
"""
SCENARIOS = {"term": ("leader", "airway"), "cot": ("recorder",)}


def read(folder: Path, known: Roster | None = None, **files: str) -> RosterRead:
    """Write files into a folder and read it."""
    for name, text in files.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    chosen = random.Random(5)
    return read_roster([folder], known=known, scenarios=SCENARIOS, choose=chosen.choice)


def complaints(folder: Path, known: Roster | None = None, **files: str) -> list[str]:
    """Read what has to be refused, and return what is said, without the folder."""
    with pytest.raises(InputError) as error:
        read(folder, known, **files)
    return [str(problem).replace(f"{folder}/", "") for problem in error.value.problems]


def test_the_shipped_example_is_right_and_each_person_gets_a_code() -> None:
    from simengine.scenario import find_scenario, load_scenario, scenario_ids

    folders = (scenarios_dir(),)
    files = [find_scenario(name, folders) for name in scenario_ids(folders)]
    known = [load_scenario(file) for file in files if file is not None]
    roles = {scenario.id: tuple(scenario.roles) for scenario in known}
    roster_read = read_roster([scenarios_dir() / "roster"], scenarios=roles)
    assert roster_read.warnings == ()
    assert (
        len(roster_read.made)
        == len(roster_read.new)
        == len(roster_read.roster.trainees)
        == roster_read.rows["trainees"]
    )
    codes = {trainee.code for trainee in roster_read.roster.trainees}
    assert len(codes) == len(roster_read.roster.trainees)
    assert all(is_code(code) for code in codes)
    (moved,) = [t for t in roster_read.roster.trainees if t.name == "Tomasz Everly"]
    assert moved.postings == (
        Posting("birth centre north", date(2024, 9, 16), date(2026, 2, 28)),
        Posting("birth centre south", date(2026, 3, 1)),
    )


def test_every_problem_is_told_at_once_with_its_line_and_column(tmp_path: Path) -> None:
    messages = complaints(
        tmp_path,
        a=TRAINEES + "12345,,,north,31.02.2026\nk3ef,Cy,nurse,north,soon\n",
        b="code,requirement,issued,issuer,expires\nk1ax,airways,2026-01-05,Centre,2026-01-04\n",
        c=REQUIREMENTS + "cot,Cot,0,midwives,cott,airwayy\n",
    )
    assert messages == [
        "a.csv:4:1: code: expected a code of 4 to 16 letters, digits, - or _ with at least one "
        "letter, found '12345' (leave the cell empty and the program makes one)",
        "a.csv:4:3: profession: expected a profession, found nothing",
        "a.csv:4:5: since: expected a day such as 2026-03-01 or 01.03.2026: the calendar has no "
        "such day, found '31.02.2026'",
        "a.csv:5:5: since: expected a day such as 2026-03-01 or 01.03.2026, found 'soon'",
        "b.csv:2:1: code: expected the code of somebody in the roster, found 'k1ax' (did you mean "
        "'k1ab'?)",
        "b.csv:2:2: requirement: expected the short name of a requirement, found 'airways' (did "
        "you mean 'airway'?)",
        "b.csv:2:5: expires: expected no day before 'issued' (2026-01-05), found 2026-01-04",
        "c.csv:3:3: every_months: expected a whole number of months from 1 to 120, found '0'",
        "c.csv:3:4: warning: professions: expected professions of somebody in the roster, found "
        "'midwives' (did you mean 'midwife'?)",
        "c.csv:3:5: scenarios: expected ids of scenarios, found 'cott' (did you mean 'cot'?)",
        "c.csv:3:6: role: expected a role of these scenarios, found 'airwayy' (did you mean "
        "'airway'?)",
    ]


def test_the_kind_of_a_file_is_told_by_its_headings_and_a_slip_in_them_is_told(
    tmp_path: Path,
) -> None:
    messages = complaints(
        tmp_path,
        a="Code;Profesion;Unit;Start Date\nk1ab;midwife;north;2024-01-01\n",
        b="colour,size\nred,3\n",
        c="code,profession,unitt,since,phone\nk1ab,midwife,north,2024-01-01,5\n",
    )
    assert any(
        line.startswith("b.csv:1:1: expected the headings of a roster file") for line in messages
    )
    assert any("found 'unitt' (did you mean 'unit'?)" in line for line in messages)
    assert any(
        "warning" in line and "'phone' (it is not read or kept)" in line for line in messages
    )


def test_a_wrong_person_is_told_once_and_not_again_by_every_row_about_them(tmp_path: Path) -> None:
    messages = complaints(
        tmp_path,
        a="name,profession,unit,since\nAnna Berg,midwife,north,nonsense\n",
        b="name,since,until\nAnna Berg,2026-01-01,2026-02-01\n",
    )
    assert len(messages) == 1


def test_names_alone_do_where_they_are_nobody_elses(tmp_path: Path) -> None:
    names = "name,profession,unit,since\nAnna Berg,midwife,north,2024-01-01\n"
    away = "name,since,until,reason\nanna  berg,2026-01-01,2026-02-01,parental leave\n"
    first = read(tmp_path, a=names, b=away)
    (anna,) = first.made
    assert first.roster.leaves == (
        Leave(anna.code, date(2026, 1, 1), date(2026, 2, 1), "parental leave"),
    )
    again = read(tmp_path, first.roster)
    assert not again.made
    assert not again.new
    assert not again.changed
    assert again.roster == first.roster
    namesake = replace(anna, code="other2")
    known = replace(first.roster, trainees=(*first.roster.trainees, namesake))
    messages = complaints(tmp_path, known)
    assert len(messages) == 1
    assert "2 people have this name" in messages[0]


def test_the_same_name_twice_without_codes_is_never_guessed_at(tmp_path: Path) -> None:
    names = "name,profession,unit,since\nAnna,nurse,north,2024-01-01\nAnna,nurse,south,2025-01-01\n"
    (message,) = complaints(tmp_path, a=names)
    assert "a code in both rows, the same for one person who moved" in message


def test_a_person_who_moves_keeps_the_code_and_what_was_before(tmp_path: Path) -> None:
    before = read(tmp_path, a=TRAINEES).roster
    moved = read(
        tmp_path, before, a=TRAINEES.splitlines()[0] + "\nk1ab,,midwife,south,2026-03-01\n"
    )
    assert moved.changed == ("k1ab",)
    anna, bo = moved.roster.trainees
    assert anna.name == "Anna Berg"
    assert anna.postings == (
        Posting("north", date(2024, 1, 1), date(2026, 2, 28)),
        Posting("south", date(2026, 3, 1)),
    )
    assert bo == before.trainees[1]


def test_a_last_day_stays_where_a_file_has_no_column_for_it_and_goes_where_its_cell_is_empty(
    tmp_path: Path,
) -> None:
    heading, row, *_ = TRAINEES.splitlines()
    gone = read(tmp_path, a=f"{heading},left\n{row},2026-05-31\n").roster
    assert gone.trainees[0].left == date(2026, 5, 31)
    assert read(tmp_path, gone, a=f"{heading}\n{row}\n").roster == gone
    back = read(tmp_path, gone, a=f"{heading},left\n{row},\n").roster
    assert back.trainees[0].left is None


def test_a_code_in_two_rows_that_disagree_is_told(tmp_path: Path) -> None:
    messages = complaints(tmp_path, a=TRAINEES + "k1ab,Ann Bergh,nurse,south,2024-01-01\n")
    assert [line.split(": expected")[0] for line in messages] == [
        "a.csv:4:2: name", "a.csv:4:3: profession", "a.csv:4:5: since",
    ]  # fmt: skip


def test_a_row_that_stands_twice_is_told_with_the_first(tmp_path: Path) -> None:
    away = "code,since,until\nk1ab,2026-01-01,2026-02-01\nk1ab,2026-01-01,2026-03-01\n"
    (message,) = complaints(tmp_path, a=TRAINEES, b=away)
    assert "the same stands in line 2" in message


def test_a_file_of_requirements_is_the_whole_list_and_others_leave_it_alone(tmp_path: Path) -> None:
    first = read(tmp_path, a=TRAINEES, b=REQUIREMENTS)
    assert [requirement.id for requirement in first.roster.requirements] == ["airway"]
    (tmp_path / "b.csv").unlink()
    assert read(tmp_path, first.roster).roster.requirements == first.roster.requirements
    other = read(tmp_path, first.roster, b=REQUIREMENTS.replace("airway,", "lead,", 1))
    assert [requirement.id for requirement in other.roster.requirements] == ["lead"]
    assert [requirement.id for requirement in other.dropped] == ["airway"]


@pytest.mark.parametrize(
    ("said", "months"), [("6", 6), ("6 months", 6), ("1 year", 12), ("12,0", 12)]
)
def test_how_often_is_read_in_months_or_years(tmp_path: Path, said: str, months: int) -> None:
    text = f"requirement;title;every\nx;X;{said}\n"
    assert read(tmp_path, a=text).roster.requirements[0].every_months == months


def test_days_with_slashes_are_read_as_the_file_itself_tells_or_refused(tmp_path: Path) -> None:
    messages = complaints(tmp_path, a=TRAINEES.replace("2024-01-01", "03/04/2024"))
    assert len(messages) == 1
    assert "--dates day-first" in messages[0]
    text = TRAINEES.replace("2024-01-01", "03/04/2024").replace("2025-02-01", "25/02/2025")
    anna, bo = read(tmp_path, a=text).roster.trainees
    assert anna.postings[0].since == date(2024, 4, 3)
    assert bo.postings[0].since == date(2025, 2, 25)


def test_a_name_that_a_spreadsheet_would_run_is_refused(tmp_path: Path) -> None:
    (message,) = complaints(tmp_path, a=TRAINEES.replace("Anna Berg", "=1+1"))
    assert "would run this as a formula" in message


def test_a_missing_file_and_an_empty_folder_are_told(tmp_path: Path) -> None:
    with pytest.raises(InputError) as error:
        read_roster([tmp_path / "none.csv", tmp_path])
    assert [problem.found for problem in error.value.problems] == ["none", "no such file"]


def test_codes_are_never_given_twice_and_hard_to_guess() -> None:
    letters = iter("22222222" + "ab345678")
    assert new_code({"22222222"}, lambda _: next(letters)) == "ab345678"
    assert len(LETTERS) ** 8 > 2**39
    assert is_erased(erased_code(()))
    assert not is_code(erased_code(()))
    assert len(erased_code(())) <= 16
