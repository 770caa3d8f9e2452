"""Files about people are their owner's alone from the first byte, and whole or not there."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from simengine.private_files import (
    make_private,
    placed,
    private_file,
    private_folder,
    write_private,
)
from simengine.resources import scenarios_dir
from simengine.session import LogWriter, read_log, write_log

pytestmark = pytest.mark.skipif(os.name != "posix", reason="rights of files as POSIX has them")


@pytest.fixture(autouse=True)
def nothing_is_masked() -> Iterator[None]:
    """Let files be as open as whoever makes them asks."""
    before = os.umask(0)
    yield
    os.umask(before)


def mode(file: Path) -> int:
    return stat.S_IMODE(file.stat().st_mode)


@pytest.mark.parametrize("content", [b"\0\xff", "née\n", b"", ""])
def test_what_was_written_is_there_and_its_owners_alone(
    tmp_path: Path, content: bytes | str
) -> None:
    file = tmp_path / "a"
    file.write_text("before")
    file.chmod(0o644)
    write_private(file, content)
    assert file.read_bytes() == (content.encode() if isinstance(content, str) else content)
    assert mode(file) == 0o600
    assert list(tmp_path.iterdir()) == [file]


def test_a_writing_that_fails_leaves_what_was_there_and_nothing_else(tmp_path: Path) -> None:
    file = tmp_path / "a"
    write_private(file, "before")

    def half() -> None:
        with placed(file) as beside:
            beside.write_text("half of it")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        half()
    assert file.read_text() == "before"
    assert list(tmp_path.iterdir()) == [file]


def test_what_is_written_is_on_the_disk_before_it_takes_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done = []
    fsync, replace = os.fsync, Path.replace

    def noted_fsync(handle: int) -> None:
        is_folder = stat.S_ISDIR(os.fstat(handle).st_mode)
        done.append("folder on the disk" if is_folder else "file on the disk")
        fsync(handle)

    def noted_replace(old: Path, new: Path) -> Path:
        done.append("takes its place")
        return replace(old, new)

    monkeypatch.setattr(os, "fsync", noted_fsync)
    monkeypatch.setattr(Path, "replace", noted_replace)
    write_private(tmp_path / "a", "content")
    assert done == ["file on the disk", "takes its place", "folder on the disk"]


def test_what_a_killed_writing_left_is_taken_away_by_the_next(tmp_path: Path) -> None:
    file = tmp_path / "a"
    left = tmp_path / ".a.new"
    left.write_text("half")
    write_private(file, "whole")
    assert file.read_text() == "whole"
    assert not left.exists()


def test_a_folder_that_is_made_is_its_owners_alone_and_one_that_was_there_stays(
    tmp_path: Path,
) -> None:
    shared = tmp_path / "shared"
    shared.mkdir(mode=0o755)
    private_folder(shared / "a" / "b")
    assert mode(shared) == 0o755
    assert mode(shared / "a") == mode(shared / "a" / "b") == 0o700
    private_folder(shared)
    assert mode(shared) == 0o755


def test_an_open_file_of_an_older_version_is_closed_to_others(tmp_path: Path) -> None:
    file = tmp_path / "a"
    file.write_text("kept")
    file.chmod(0o644)
    private_file(file)
    assert file.read_text() == "kept"
    assert mode(file) == 0o600


def test_a_folder_that_everybody_writes_to_is_left_to_everybody(tmp_path: Path) -> None:
    tmp_path.chmod(0o1777)
    make_private(tmp_path)
    assert mode(tmp_path) == 0o1777


def test_log_files_are_their_owners_alone(tmp_path: Path) -> None:
    shipped = scenarios_dir() / "sessions" / "term-not-breathing-steady.session.jsonl"
    events = read_log(shipped)
    write_log(tmp_path / "whole.session.jsonl", events)
    with LogWriter(tmp_path / "live.session.jsonl") as writer:
        writer.append(events[0])
    assert {mode(file) for file in tmp_path.iterdir()} == {0o600}
