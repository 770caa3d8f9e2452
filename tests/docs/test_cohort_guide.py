"""The guide from a roster to the cohort report: its commands run in order, as they stand."""

import re
import shlex
import shutil
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.people.roster_tables import KINDS
from simengine.resources import scenarios_dir

GUIDE = Path(__file__).parents[2] / "docs" / "cohort.md"


def test_the_guides_commands_lead_from_nothing_to_the_report(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    recorded = scenarios_dir() / "sessions" / "cot-term-steady.session.jsonl"
    shutil.copy(recorded, tmp_path / "session.session.jsonl")
    blocks = re.findall(r"^```sh\n(.*?)^```", GUIDE.read_text(), re.MULTILINE | re.DOTALL)
    commands = "".join(blocks).splitlines()
    assert len(commands) == 11
    for command in commands:
        program, *arguments = shlex.split(command)
        assert program == "simengine"
        assert main(arguments) == 0, command
    assert (tmp_path / "reports" / "cohort.pdf").is_file()
    assert (tmp_path / "reports" / "cohort.html").is_file()
    assert (tmp_path / "my-roster" / "trainees.csv").is_file()
    assert (tmp_path / "export" / "statements.jsonl").is_file()
    assert (tmp_path / "export" / "dictionary.csv").is_file()
    assert (tmp_path / "for-research" / "dictionary.csv").is_file()
    assert (tmp_path / "to-publish" / "published-items.csv").is_file()


def test_the_guide_names_every_column_of_every_table() -> None:
    rows = dict(re.findall(r"^\| (\w+) \| (.*?) \|", GUIDE.read_text(), re.MULTILINE))
    for kind, columns in KINDS.items():
        named = set(re.findall(r"`(\w+)`", rows[kind]))
        assert named == {*columns.needs, *columns.may}, kind


def test_the_tables_to_fill_in_are_written_once_for_a_spreadsheet_program(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", "--roster", str(tmp_path / "unit")]) == 0
    written = sorted(file.stem for file in (tmp_path / "unit").iterdir())
    assert written == sorted(KINDS)
    raw = (tmp_path / "unit" / "trainees.csv").read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf")
    assert b"\r\n" in raw
    assert main(["new", "--roster", str(tmp_path / "unit")]) == 1
    assert "exists" in capsys.readouterr().err
