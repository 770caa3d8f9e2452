"""The guide to writing a scenario: its commands run in order, as they stand."""

import re
import shlex
from pathlib import Path

import pytest

from simengine.cli.main import main

GUIDE = Path(__file__).parents[2] / "docs" / "writing-scenarios.md"


def test_the_guides_commands_lead_from_nothing_to_a_piloted_scenario(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    blocks = re.findall(r"^```sh\n(.*?)^```", GUIDE.read_text(), re.MULTILINE | re.DOTALL)
    commands = "".join(blocks).splitlines()
    assert len(commands) == 5
    for command in commands:
        program, *arguments = shlex.split(command)
        assert program == "simengine"
        assert main(arguments) == 0, command
    assert (tmp_path / "my-scenario.svg").is_file()
    assert (tmp_path / "pilot" / "pilot-my-scenario.html").is_file()
    assert (tmp_path / "pack" / "brief-my-scenario.pdf").is_file()
