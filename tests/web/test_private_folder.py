"""A data folder after a day's work: nothing in it can be read by anybody but its owner."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from itsdangerous import URLSafeSerializer

from simengine.cli.main import main
from simengine.web.security import Keys, new_visitor
from tests.console.consoles import Server, entry

pytestmark = pytest.mark.skipif(os.name != "posix", reason="rights of files as POSIX has them")


@pytest.fixture(autouse=True)
def nothing_is_masked() -> Iterator[None]:
    """Let files be as open as whoever makes them asks; programs that are started ask the same."""
    before = os.umask(0)
    yield
    os.umask(before)


def open_to_others(folder: Path) -> list[str]:
    """What in a folder, itself included, others have any right to."""
    return [
        f"{stat.filemode(part.stat().st_mode)} {part}"
        for part in (folder, *folder.rglob("*"))
        if part.stat().st_mode & 0o077
    ]


def test_after_a_session_its_debrief_exports_and_a_backup_nothing_is_open_to_others(
    tmp_path: Path,
) -> None:
    data, out = tmp_path / "data", tmp_path / "out"
    data.mkdir(mode=0o755)
    for name in ("sessions.sqlite", "in-use.sqlite", "cookie.key", "console.log"):
        (data / name).touch(0o644)  # as an older version left them, the key cut short by a crash
    server = Server(data)
    try:
        browser = server.browser()
        browser.open(server.link)
        session = browser.start(role__airway="k7f3")
        browser.send(session, entry("event", 0, {"name": "birth"}))
        browser.send(session, entry("closed", 0, {"why": "stopped early"}))
        assert browser.client.get(f"/s/{session}/debrief.pdf").content.startswith(b"%PDF")
        assert list(data.glob("sessions.sqlite-wal")), "SQLite keeps a file beside the store"
        while_it_runs = open_to_others(data)
    finally:
        server.end()
    assert while_it_runs == []
    for command in (
        ["export", "--csv"],
        ["export", "--parquet"],
        ["export", "--published"],
        ["export", "--xapi", "https://training.hospital.example"],
        ["export", "--bundle", session],
        ["cohort"],
    ):
        assert main([*command, "--data", str(data), "--output", str(out / command[-1][:9])]) == 0
    (log,) = data.rglob(f"{session}.session.jsonl")
    assert main(["debrief", str(log), "--output", str(out / "debrief")]) == 0
    assert main(["store", "backup", str(out / "all.sqlite"), "--data", str(data)]) == 0
    restore = ["store", "restore", str(out / "all.sqlite"), "--replace"]
    assert main([*restore, "--data", str(data)]) == 0
    assert "cookie.key was no whole key" in (data / "console.log").read_text()
    kinds = {part.suffix for part in tmp_path.rglob("*") if part.is_file()}
    assert kinds >= {".csv", ".parquet", ".jsonl", ".zip", ".html", ".pdf", ".sqlite", ".key"}
    assert open_to_others(data) + open_to_others(out) == []


def _signer(key: bytes) -> URLSafeSerializer:
    """What signs a visitor's cookie with a key."""
    return URLSafeSerializer(key, salt="visitor", signer_kwargs={"digest_method": hashlib.sha256})


@pytest.mark.parametrize(
    "left",
    [b"", b"\n", b"0123456789abcdef", b"\xff" * 64, b"0" * 63],
    ids=["empty", "blank", "a quarter", "no text", "one letter short"],
)
def test_a_key_that_is_not_whole_signs_nothing(tmp_path: Path, left: bytes) -> None:
    file = tmp_path / "cookie.key"
    file.write_bytes(left)
    keys = Keys(tmp_path)
    kept = file.read_bytes()
    assert len(kept) == 64
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    visitor = new_visitor()
    cookie = keys.cookie(visitor, 0)
    content = _signer(kept).loads(cookie)
    assert keys.visitor(_signer(left).dumps(content), 0) is None
    assert Keys(tmp_path).visitor(cookie, 0) == visitor
