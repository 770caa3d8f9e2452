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
    text = GUIDE.read_text()
    blocks = re.findall(r"^```sh\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
    (graded,) = re.findall(r"^```csv\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
    (tmp_path / "graded.csv").write_text(graded, encoding="utf-8")
    commands = "".join(blocks).splitlines()
    assert len(commands) == 6
    for command in commands:
        program, *arguments = shlex.split(command)
        assert program == "simengine"
        assert main(arguments) == 0, command
    assert (tmp_path / "my-scenario.svg").is_file()
    assert (tmp_path / "pilot" / "pilot-my-scenario.html").is_file()
    assert (tmp_path / "pack" / "brief-my-scenario.pdf").is_file()
