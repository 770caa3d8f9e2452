"""What is not as it should be is told in words, each with what to do; nothing is changed by it."""

from __future__ import annotations

import json
import os
import socket
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.doctor import folder as folders
from simengine.doctor import program
from simengine.doctor.examine import examine
from simengine.doctor.finding import Finding
from simengine.session import read_log
from simengine.store import Store
from simengine.store.tables import REVISION_TABLE
from simengine.web.security import Keys
from tests.shipped import log_file

NOW = datetime(2030, 1, 1, tzinfo=UTC)


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A folder as a console leaves it: a store with a session, and a key."""
    folder = tmp_path / "data"
    with Store.open(folder) as store:
        store.add_log(read_log(log_file("term-not-breathing-steady")))
    Keys(folder)
    return folder


@contextmanager
def a_port() -> Iterator[tuple[int, socket.socket]]:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        yield taken.getsockname()[1], taken


def free_port() -> int:
    with a_port() as (port, _):
        return port


def found(where: Path | str, data: Path, now: datetime = NOW, port: int = 0) -> list[Finding]:
    return list(examine(where, data, port, now=now))


def not_good(data: Path, now: datetime = NOW) -> dict[str, Finding]:
    """By what it is about; what is said of the machine's disk is its own."""
    bad = {finding.about: finding for finding in found(data, data, now) if finding.level != "good"}
    assert all(finding.do for finding in bad.values())
    bad.pop("disk", None)
    return bad


def test_where_all_is_as_it_should_be_nothing_is_to_be_done(data: Path) -> None:
    assert not_good(data) == {}
    abouts = {finding.about for finding in found(data, data)}
    assert {"program", "packages", "rights", "key", "disk", "store", "chains", "clock"} < abouts


def test_an_empty_place_is_as_it_should_be_and_stays_empty(tmp_path: Path) -> None:
    assert not_good(tmp_path / "none") == {}
    assert not (tmp_path / "none").exists()


def test_a_changed_entry_is_told_with_its_session(data: Path) -> None:
    with closing(sqlite3.connect(data / "sessions.sqlite")) as file:
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        for (name,) in file.execute(query).fetchall():
            file.execute(f"DROP TRIGGER {name}")
        file.execute("UPDATE events SET noted_ms = noted_ms + 1 WHERE seq = 3")
        file.commit()
    finding = not_good(data)["chains"]
    assert finding.level == "wrong"
    assert "restore a backup" in finding.do


def test_a_ruined_file_is_told_with_how_to_bring_a_backup_back(data: Path) -> None:
    (data / "sessions.sqlite").write_bytes(b"SQLite format 3\0" + b"nothing" * 1000)
    for beside in ("-wal", "-shm"):
        (data / f"sessions.sqlite{beside}").unlink(missing_ok=True)
    finding = not_good(data)["store"]
    assert finding.level == "wrong"
    assert "simengine store restore" in finding.do


def test_a_store_of_a_newer_program_is_told(data: Path) -> None:
    with closing(sqlite3.connect(data / "sessions.sqlite")) as file:
        file.execute(f"UPDATE {REVISION_TABLE} SET version_num = '9999'")
        file.commit()
    assert "made by a newer simengine" in not_good(data)["store"].words


def test_a_store_of_an_older_version_is_told_and_left_as_it_is(data: Path) -> None:
    with closing(sqlite3.connect(data / "sessions.sqlite")) as file:
        file.execute(f"UPDATE {REVISION_TABLE} SET version_num = '0002'")
        file.commit()
        finding = not_good(data)["store"]
        kept = file.execute(f"SELECT version_num FROM {REVISION_TABLE}").fetchone()
    assert finding.level == "look"
    assert "make a backup" in finding.do
    assert kept == ("0002",)


def test_files_open_to_others_are_told_with_the_command_that_closes_them(data: Path) -> None:
    (data / "cookie.key").chmod(0o644)
    finding = not_good(data)["rights"]
    assert (finding.level, "cookie.key" in finding.words) == ("wrong", True)
    assert finding.do == f"close it: chmod -R go= '{data}'"
    assert (data / "cookie.key").stat().st_mode & 0o777 == 0o644


def test_files_of_another_account_are_told(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: 12345)
    assert "another account owns" in not_good(data)["rights"].words


def test_a_key_that_is_not_whole_is_told(data: Path) -> None:
    (data / "cookie.key").write_bytes(b"0123")
    assert "is not whole" in not_good(data)["key"].words


def test_little_room_is_told(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(folders, "LEAST_FREE", 10**18)
    (finding,) = [each for each in found(data, data) if each.about == "disk"]
    assert finding.level == "wrong"
    assert "make room" in finding.do


def test_faults_that_the_console_noted_are_counted(data: Path) -> None:
    line = "2026-03-01 10:00:00,000 {} simengine: words\nTraceback (most recent call last):\n"
    (data / "console.log").write_text(line.format("WARNING") + 2 * line.format("ERROR"))
    (data / "console.log").chmod(0o600)
    finding = not_good(data)["faults"]
    assert "noted 2 in" in finding.words
    assert "the last on 2026-03-01" in finding.words


def test_a_clock_behind_the_newest_entry_is_told(data: Path) -> None:
    (last,) = {max(event.wall for event in read_log(log_file("term-not-breathing-steady")))}
    behind = datetime.fromisoformat(last) - timedelta(days=1)
    assert "behind the newest entry" in not_good(data, now=behind)["clock"].words


def test_a_port_that_another_program_has_is_told(data: Path) -> None:
    with a_port() as (port, taken):
        taken.listen()
        *_, finding = found(data, data, port=port)
    assert (finding.about, finding.level) == ("port", "wrong")
    assert "--port" in finding.do


def test_a_console_that_runs_is_no_fault(data: Path) -> None:
    with Store.open(data, alone=True), a_port() as (port, taken):
        taken.listen()
        findings = {finding.about: finding for finding in found(data, data, port=port)}
    assert findings["console"].words == "one is running on this store"
    assert findings["port"].level == "good"


def test_a_package_that_is_missing_or_too_old_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    wanted = ["numpy>=9000", "no-such-package", "psycopg>=9000; extra == 'postgres'"]
    monkeypatch.setattr(program, "requires", lambda _: wanted)
    (finding,) = [each for each in program.of_program() if each.about == "packages"]
    assert finding.level == "wrong"
    assert "needed is >=9000" in finding.words
    assert "no-such-package is missing" in finding.words
    assert "psycopg" not in finding.words


def test_a_database_is_looked_at_as_a_folder_is(where: Path | str, tmp_path: Path) -> None:
    with Store.open(where) as store:
        store.add_log(read_log(log_file("term-not-breathing-steady")))
        store_runs = [
            finding for finding in found(where, tmp_path / "none") if finding.level == "wrong"
        ]
    assert store_runs == []


def test_the_command_ends_with_1_where_something_is_wrong_and_says_what_to_do(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = ["doctor", "--data", str(data), "--port", str(free_port())]
    assert main(command) == 0
    (data / "cookie.key").write_bytes(b"")
    assert main(command) == 1
    out, err = capsys.readouterr()
    assert "WRONG  key: " in out
    assert "→ start the console: it makes a new one" in out
    assert "1 wrong" in err
    assert main([*command, "--json"]) == 1
    findings = json.loads(capsys.readouterr().out)
    assert {"about", "level", "words", "do"} == set(findings[0])
