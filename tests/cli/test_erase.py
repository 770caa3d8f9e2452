"""One person is forgotten from the command line."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.people.roster import Posting, Roster, Trainee
from simengine.resources import scenarios_dir
from simengine.session.chain import linked
from simengine.session.events import Event
from simengine.session.log_file import chain_problems, read_log
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
    assert " in 1 session log, sealed anew, and " in err
    assert "Nothing was done" in err
    with Store.open(data) as store:
        assert [trainee.code for trainee in roster(store).trainees] == [CODE]
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


def test_a_first_name_that_was_left_is_taken_out_afterwards(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = with_a_note("Anna was asked, and Annabel looked on.")
    session = str(log[0].data["session"])
    with Store.open(data) as store:
        store.append(session, log[-1:])
    assert main(["erase", CODE, "--data", str(data), "--yes"]) == 0
    err = capsys.readouterr().err
    assert f"left as it is: session {session}, line {len(log)}: “Anna was asked" in err
    assert "simengine erase --words NAME --in SESSION" in err
    words = ["erase", "--words", "Anna", "--in", session, "--data", str(data)]
    assert main([*words, "--dry-run"]) == 0
    assert "1 entry in 1 session log" in capsys.readouterr().err
    assert main([*words, "--yes"]) == 0
    with Store.open(data) as store:
        events = store.events(session)
    assert events[-1].data["text"] == "[erased] was asked, and Annabel looked on."
    assert list(chain_problems(events)) == []
    assert main(words) == 0  # nothing is left to do
    assert "Nothing was done" in capsys.readouterr().err


def with_a_note(text: str) -> tuple[Event, ...]:
    log = read_log(scenarios_dir() / "sessions" / "term-not-breathing-steady.session.jsonl")
    last = log[-1]
    note = Event(
        last.seq + 1, "0b8e5a56-51c2-4f1e-9d0f-000000000001", last.noted_ms, last.noted_ms,
        last.wall, "note", "p-desk", {"text": text},
    )  # fmt: skip
    return (*log, linked(note, last.hash))


@pytest.mark.parametrize(
    "asked",
    [[], ["--words", "Anna"], ["--in", "x"], [CODE, "--words", "Anna", "--in", "x"]],
)
def test_a_person_or_words_with_their_sessions_are_asked_for(
    data: Path, asked: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["erase", *asked, "--data", str(data), "--yes"]) == 2
    assert "name a person's code, or --words" in capsys.readouterr().err


def test_words_in_a_session_that_there_is_not_are_told(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        main(["erase", "--words", "Anna", "--in", "none", "--data", str(data), "--yes"])
    assert "there is no session none" in capsys.readouterr().err
