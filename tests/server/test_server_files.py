"""What a hospital sets the console up with: units, container, proxy, and a backup that is proved.

What a unit may hold is told by systemd's own ``systemd-analyze verify``, where it is.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from simengine.cli.main import parser
from simengine.session import read_log
from simengine.store import Store
from tests.shipped import log_file

ROOT = Path(__file__).parents[2]
SERVER = ROOT / "server"
UNITS = sorted(file.name for file in SERVER.iterdir() if file.suffix in (".service", ".timer"))


@pytest.fixture
def store(tmp_path: Path) -> Path:
    folder = tmp_path / "store"
    with Store.open(folder) as opened:
        opened.add_log(read_log(log_file("term-not-breathing-steady")))
    return folder


def back_up(store: Path, backups: Path, *more: str) -> subprocess.CompletedProcess[str]:
    """Run the script; ``simengine`` is this tree's."""
    programs = backups.parent / "bin"
    programs.mkdir(exist_ok=True)
    program = programs / "simengine"
    begin = "import sys; from simengine.cli.main import main; sys.exit(main())"
    program.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -c "{begin}" "$@"\n')
    program.chmod(0o700)
    path = f"{programs}:{os.environ['PATH']}"
    return subprocess.run(
        [str(SERVER / "backup"), str(store), str(backups), *more],
        env={**os.environ, "PATH": path, "PYTHONPATH": str(ROOT)},
        capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_a_backup_is_restored_before_it_counts_and_old_ones_go(store: Path, tmp_path: Path) -> None:
    backups = tmp_path / "backups"
    backups.mkdir()
    for day in (1, 2, 3):
        (backups / f"simengine-2026-01-0{day}T030000Z.sqlite").write_bytes(b"an older one")
    (backups / "notes.sqlite").write_bytes(b"of somebody else")
    run = back_up(store, backups, "2")
    assert run.returncode == 0, run.stderr
    assert "can be restored" in run.stdout
    names = sorted(file.name for file in backups.iterdir())
    made = re.compile(r"simengine-\d{4}-\d\d-\d\dT\d{6}Z\.sqlite")
    (new,) = [name for name in names if made.fullmatch(name) and "2026-01-0" not in name]
    assert names == sorted(["notes.sqlite", "simengine-2026-01-03T030000Z.sqlite", new])
    assert (backups / new).stat().st_mode & 0o077 == 0


def test_a_backup_of_what_is_damaged_does_not_count_and_removes_none(
    store: Path, tmp_path: Path
) -> None:
    with closing(sqlite3.connect(store / "sessions.sqlite")) as file:
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        for (name,) in file.execute(query).fetchall():
            file.execute(f"DROP TRIGGER {name}")
        file.execute("UPDATE events SET noted_ms = noted_ms + 1 WHERE seq = 3")
        file.commit()
    backups = tmp_path / "backups"
    backups.mkdir()
    kept = backups / "simengine-2026-01-01T030000Z.sqlite"
    kept.write_bytes(b"an older one")
    run = back_up(store, backups, "1")
    assert run.returncode != 0
    assert "is not whole" in run.stderr
    assert kept.exists()
    assert not [file for file in backups.iterdir() if file.suffix == ".sqlite" and file != kept]


@pytest.mark.parametrize("unit", UNITS)
def test_systemd_finds_nothing_wrong_with_a_unit(unit: str, tmp_path: Path) -> None:
    analyze = shutil.which("systemd-analyze")
    if analyze is None:
        pytest.skip("needs systemd-analyze")
    for name in UNITS:
        text = (SERVER / name).read_text(encoding="utf-8")
        text = text.replace("/opt/simengine/bin/simengine", "/bin/true")
        text = text.replace("/opt/simengine/server/backup", "/bin/true")
        text = re.sub(r"^(User|Group)=.*\n", "", text, flags=re.MULTILINE)
        (tmp_path / name).write_text(text, encoding="utf-8")
    run = subprocess.run(
        [analyze, "verify", "--man=no", str(tmp_path / unit)],
        env={**os.environ, "SYSTEMD_UNIT_PATH": f"{tmp_path}:"},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    ours = [line for line in run.stderr.splitlines() if "simengine" in line]
    assert ours == []


def test_what_unit_and_container_start_is_a_command_of_ours() -> None:
    unit = (SERVER / "simengine.service").read_text(encoding="utf-8").replace("\\\n", "")
    (started,) = re.findall(r"^ExecStart=/opt/simengine/bin/simengine (.*)$", unit, re.MULTILINE)
    container = (SERVER / "Containerfile").read_text(encoding="utf-8")
    (entry,) = re.findall(r"^ENTRYPOINT \[(.*)\]$", container, re.MULTILINE)
    program, *arguments = [word.strip().strip('"') for word in entry.split(",")]
    assert program == "simengine"
    for words in (shlex.split(started), arguments):
        args = parser("console").parse_args(words)
        assert args.lan
        assert args.no_browser


def test_the_container_copies_what_there_is() -> None:
    container = (SERVER / "Containerfile").read_text(encoding="utf-8")
    copied = [line.split()[1:-1] for line in container.splitlines() if line.startswith("COPY ")]
    assert copied
    for name in (name for names in copied for name in names):
        assert (ROOT / name).exists(), name
