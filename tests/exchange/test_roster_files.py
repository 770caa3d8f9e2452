"""A roster that was written is the same roster when it is read again."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from simengine.cli.main import main
from simengine.exchange.roster_files import write_roster
from simengine.people.read_roster import read_roster
from simengine.people.roster import (
    Attendance,
    Certificate,
    Leave,
    Posting,
    Requirement,
    Roster,
    Trainee,
)
from simengine.people.roster_tables import KINDS, WRITTEN
from simengine.resources import scenarios_dir
from tests.amount import examples

NAMES = ("Anna Berg", 'Jo "Jay" Ö’Neil', "Li; Wei", "née, Ω", "")
UNITS = ("north", "birth centre south", "Ward 5, east")
DAYS = st.dates(date(2020, 1, 1), date(2027, 12, 31))


@st.composite
def stays(draw: st.DrawFn) -> tuple[Posting, ...]:
    """Stays one after the other; only the last may have no end."""
    out = []
    since = draw(DAYS)
    for last in (*(False for _ in range(draw(st.integers(0, 2)))), True):
        until = since + timedelta(days=draw(st.integers(0, 400)))
        open_end = last and draw(st.booleans())
        out.append(Posting(draw(st.sampled_from(UNITS)), since, None if open_end else until))
        since = until + timedelta(days=draw(st.integers(1, 100)))
    return tuple(out)


@st.composite
def rosters(draw: st.DrawFn) -> Roster:
    codes = [f"k{number}ab" for number in range(draw(st.integers(1, 4)))]
    people = []
    for code in codes:
        postings = draw(stays())
        left = draw(st.none() | st.just(postings[-1].since + timedelta(days=900)))
        profession = draw(st.sampled_from(("midwife", "nurse, neonatal")))
        people.append(Trainee(code, profession, postings, draw(st.sampled_from(NAMES)), left))
    professions = sorted({person.profession for person in people if "," not in person.profession})
    units = sorted({s.unit for person in people for s in person.postings if "," not in s.unit})
    requirements = tuple(
        Requirement(
            id=name,
            title=f"Title of {name}",
            every_months=draw(st.integers(1, 120)),
            professions=tuple(professions[: draw(st.integers(0, 2))]),
            units=tuple(units[: draw(st.integers(0, 3))]),
            scenarios=draw(st.sampled_from(((), ("cot-term",), ("cot-term", "cot-preterm")))),
            role=draw(st.sampled_from((None, "airway"))),
            warn_days=draw(st.integers(0, 366)),
            starter_days=draw(st.integers(0, 730)),
        )
        for name in ("airway", "cot")[: draw(st.integers(0, 2))]
    )
    away = tuple(
        Leave(code, since, since + timedelta(days=draw(st.integers(0, 300))), reason)
        for code in codes
        for since in draw(st.sets(DAYS, max_size=2))
        for reason in (draw(st.sampled_from(("", "sick leave"))),)
    )
    proof = tuple(
        Certificate(
            code, requirement.id, issued, "Regional centre", draw(st.none() | st.just(issued))
        )
        for code in codes
        for requirement in requirements
        for issued in draw(st.sets(DAYS, max_size=1))
    )
    there = tuple(
        Attendance(
            code, day, title, draw(st.integers(1, 1440)), draw(st.sampled_from(("", "room")))
        )
        for code in codes
        for day in draw(st.sets(DAYS, max_size=1))
        for title in ("Study morning", "A talk; with questions")
    )
    return Roster(tuple(people), requirements, away, proof, there)


@examples(60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rosters())
def test_a_roster_written_and_read_again_is_the_same(
    tmp_path_factory: pytest.TempPathFactory, roster: Roster
) -> None:
    folder = tmp_path_factory.mktemp("roster")
    write_roster(roster, folder)
    roster_read = read_roster([folder])
    assert roster_read.roster == roster
    assert roster_read.warnings == ()
    assert roster_read.made == ()


def test_every_table_is_read_and_written_by_the_same_columns(tmp_path: Path) -> None:
    files = write_roster(Roster(), tmp_path)
    assert {table.name for table in WRITTEN} == set(KINDS) - {"postings"}
    for table, file in zip(WRITTEN, files, strict=True):
        with file.open(encoding="utf-8-sig", newline="") as opened:
            (header,) = csv.reader(opened)
        kind = next(kind for kind in KINDS if kind == table.name)
        assert set(header) == {*KINDS[kind].needs, *KINDS[kind].may}
        assert all(column.meaning for column in table.columns)


def test_the_shipped_roster_goes_in_out_and_in_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["import", str(scenarios_dir() / "roster"), "--data", "one"]) == 0
    assert main(["export", "--roster", "--data", "one", "--output", "out"]) == 0
    capsys.readouterr()
    assert main(["import", "out", "--data", "one", "--dry-run"]) == 0
    messages = capsys.readouterr().err
    assert "0 new, 0 changed" in messages
    assert "No longer required" not in messages
