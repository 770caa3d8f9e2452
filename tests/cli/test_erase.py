"""One person is forgotten from the command line."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.people.roster import Posting, Roster, Trainee
from simengine.resources import scenarios_dir
from simengine.session.log_file import read_log
from simengine.store import Store
from simengine.store.people import roster, save_roster

CODE = "n4tq8wzk"
NAME = "Anna Berg"


@pytest.fixture
def data(tmp_path: Path) -> Path:
    folder = tmp_path / "store"
    log = read_log(scenarios_dir() / "sessions" / "term-not-breathing-steady.session.jsonl")
    with Store.open(folder) as store:
        store.add_log(log)
        person = Trainee(CODE, "midwife", (Posting("north", date(2024, 1, 1)),), NAME)
        save_roster(store, Roster((person,)))
    session = str(log[0].data["session"])
    made = folder / "debriefs" / session / "x"
    made.mkdir(parents=True)
    (made / "debrief.html").write_text(f"For {CODE}", encoding="utf-8")
    return folder


def test_a_dry_run_says_what_would_go_and_leaves_it(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["erase", CODE, "--data", str(data), "--dry-run"]) == 0
    err = capsys.readouterr().err
    assert "Sealed anew: 1 session log, in which" in err
    assert "Nothing was done" in err
    with Store.open(data) as store:
        assert [one.code for one in roster(store).trainees] == [CODE]
    assert (data / "debriefs").is_dir()


def test_without_a_terminal_nothing_is_erased_unless_agreed_to(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["erase", CODE, "--data", str(data)]) == 1
    assert "Add --yes" in capsys.readouterr().err
    with Store.open(data) as store:
        assert roster(store).trainees


def test_person_and_debriefs_are_gone_from_the_whole_folder(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["erase", CODE, "--data", str(data), "--yes"]) == 0
    out = capsys.readouterr().out
    assert "What is in backups, exports and printed debriefs is not." in out
    left = [file for file in data.rglob("*") if file.is_file()]
    assert left
    for file in left:
        assert CODE.encode() not in file.read_bytes(), file
        assert NAME.encode() not in file.read_bytes(), file


def test_a_file_beside_the_store_that_still_names_the_person_is_told(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copy(data / "sessions.sqlite", data / "backup.sqlite")
    assert main(["erase", CODE, "--data", str(data), "--yes"]) == 1
    assert f"remove it by hand: {data / 'backup.sqlite'}" in capsys.readouterr().err


def test_an_unknown_code_and_a_missing_store_are_told(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["erase", "zzzz", "--data", str(data), "--yes"])
    assert ended.value.code == 1
    assert "has the code zzzz" in capsys.readouterr().err
    assert main(["erase", CODE, "--data", str(tmp_path / "none"), "--yes"]) == 1
    assert not (tmp_path / "none").exists()


def test_a_store_that_a_console_has_open_is_left_alone(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Store.open(data, alone=True), pytest.raises(SystemExit):
        main(["erase", CODE, "--data", str(data), "--yes"])
    assert "stop it first" in capsys.readouterr().err
