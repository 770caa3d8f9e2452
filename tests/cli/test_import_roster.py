"""A coordinator brings a roster in from the command line."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from simengine.cli.import_ import sort_of
from simengine.cli.main import main
from simengine.people.days import ORDERS
from simengine.people.roster import Roster
from simengine.resources import scenarios_dir
from simengine.store import Store
from simengine.store.people import roster

EXAMPLE = str(scenarios_dir() / "roster")


def kept(folder: Path) -> Roster:
    with Store.open(folder) as store:
        return roster(store)


def test_a_dry_run_tells_what_would_come_and_makes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = tmp_path / "store"
    assert main(["import", EXAMPLE, "--data", str(data), "--dry-run"]) == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert "People: 10 new, 0 changed" in err
    assert "Nothing was kept" in err
    assert not data.exists()


def test_an_import_keeps_the_roster_and_shows_each_new_code_beside_its_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = tmp_path / "store"
    assert main(["import", EXAMPLE, "--data", str(data)]) == 0
    shown = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    people = kept(data).trainees
    assert {(row["code"], row["name"]) for row in shown} == {(p.code, p.name) for p in people}
    assert shown[1]["unit"] == "birth centre south"
    assert main(["import", EXAMPLE, "--data", str(data)]) == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert "0 new, 0 changed, 10 unchanged" in err
    assert kept(data).trainees == people


def test_one_wrong_row_keeps_everything_out_and_is_told_with_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "people.csv"
    file.write_text(
        "name;profession;unit;since\nAnna;midwife;north;01.03.2026\nBo;midwife;north;31.02.2026\n",
        encoding="utf-8-sig",
    )
    assert main(["import", str(file), "--data", str(tmp_path / "store")]) == 1
    err = capsys.readouterr().err
    assert f"{file}:3:4: since: expected a day" in err
    assert not (tmp_path / "store").exists()


def test_how_days_with_slashes_read_is_asked_for_and_heeded(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "people.csv"
    file.write_text("name,profession,unit,since\nAnna,midwife,north,01/03/2026\n", encoding="utf-8")
    argv = ["import", str(file), "--data", str(tmp_path / "store")]
    assert main(argv) == 1
    assert "--dates day-first" in capsys.readouterr().err
    assert main([*argv, "--dates", ORDERS[0]]) == 0
    assert kept(tmp_path / "store").trainees[0].postings[0].since.isoformat() == "2026-03-01"


def test_a_scenario_or_role_that_there_is_not_is_told_with_the_nearest(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "needs.csv"
    file.write_text(
        "requirement,title,every_months,scenarios,role\n"
        "a,A,6,cot-trem,\nb,B,6,term-not-breathing,airwy\n",
        encoding="utf-8",
    )
    assert main(["import", str(file), "--data", str(tmp_path / "store")]) == 1
    err = capsys.readouterr().err
    assert "did you mean 'cot-term'?" in err
    assert "did you mean 'airway'?" in err


def test_a_file_is_told_by_its_ending_or_by_how_it_begins(tmp_path: Path) -> None:
    begins = {
        "a.CSV": b"x",
        "b.session.jsonl": b"x",
        "c.zip": b"x",
        "d": b"PK",
        "e": b"{",
        "f": b"n",
    }
    for name, content in begins.items():
        (tmp_path / name).write_bytes(content)
    sorts = [sort_of(tmp_path / name) for name in begins]
    assert sorts == ["roster", "session", "bundle", "bundle", "session", "roster"]
    assert sort_of(tmp_path) == "roster"


def test_a_missing_file_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["import", str(tmp_path / "none.csv"), "--data", str(tmp_path)]) == 1
    assert "none.csv: expected a CSV file, found no such file" in capsys.readouterr().err
