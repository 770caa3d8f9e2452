"""The guide to backups: its commands run in order, as they stand, on a server of the tests'."""

import re
import shlex
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.store import Store
from tests.postgresql import Server
from tests.store.filled import all_of, fill

GUIDE = Path(__file__).parents[2] / "docs" / "store.md"
SERVER = "postgresql://simengine@db.example/simengine"


def test_the_guides_commands_back_up_restore_and_move_everything(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, postgresql: Server
) -> None:
    monkeypatch.chdir(tmp_path)
    url = postgresql.new()
    with Store.open("my-store") as store:
        fill(store)
        before = all_of(store)
    blocks = re.findall(r"^```sh\n(.*?)^```", GUIDE.read_text(), re.MULTILINE | re.DOTALL)
    commands = "".join(blocks).splitlines()
    assert len(commands) == 7
    for command in commands:
        program, *arguments = shlex.split(command.replace(SERVER, url))
        assert program == "simengine"
        assert main(arguments) == 0, command
    for where in ("my-store", "another-folder", url):
        with Store.open(where) as store:
            assert all_of(store) == before
    assert main(["store", "check", "server.sqlite"]) == 0
