"""The tests' own server runs as nobody's but theirs, and is gone afterwards however they end."""

from __future__ import annotations

import shutil
from pathlib import Path

import psycopg
import pytest

from tests.postgresql import Server, programs, running


def test_a_missing_server_skips_the_test_of_a_person_and_fails_it_in_ci(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: None)
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="from Debian's package postgresql"):
        programs(tmp_path)
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="from Debian's package postgresql"):
        programs(tmp_path)


def test_the_newest_version_is_taken(tmp_path: Path) -> None:
    for version in ("9", "15", "17", "of-old"):
        (tmp_path / version / "bin").mkdir(parents=True)
        (tmp_path / version / "bin" / "pg_ctl").touch()
    assert programs(tmp_path) == tmp_path / "17" / "bin"


def test_each_test_has_a_schema_of_its_own(postgresql: Server) -> None:
    first, other = postgresql.new(), postgresql.new()
    postgresql.ask("CREATE TABLE mine (x INT)", first)
    assert postgresql.ask("SELECT * FROM mine", first) == []
    with pytest.raises(psycopg.errors.UndefinedTable):
        postgresql.ask("SELECT * FROM mine", other)


def test_the_server_is_stopped_also_when_what_used_it_fails() -> None:
    seen: list[tuple[Server, Path]] = []

    def fail_on_a_server() -> None:
        with running() as server:
            (folder,) = server.ask("SHOW data_directory")[0]
            seen.append((server, Path(folder)))
            raise RuntimeError("a test that failed")

    with pytest.raises(RuntimeError, match="a test that failed"):
        fail_on_a_server()
    ((server, folder),) = seen
    assert not folder.parent.exists()
    with pytest.raises(psycopg.OperationalError):
        server.ask("SELECT 1")
