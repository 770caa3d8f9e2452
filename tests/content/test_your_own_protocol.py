"""The road of ``docs/your-own-protocol.md``: copy, change, check, signed by a clinician, check.

The page is the test: its commands and its signature are taken from its own text, so that a step
that no longer holds is seen here.
"""

import re
import shlex
import shutil
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.resources import scenarios_dir
from simengine.scenario.loading import load_protocol

PAGE = (Path(__file__).parents[2] / "docs" / "your-own-protocol.md").read_text("utf-8")
FENCED = re.compile(r"```(\w+)\n(.*?)```", re.DOTALL)


def fenced(language: str) -> list[str]:
    """Return what stands in the page's fenced blocks of a language."""
    return [text for kind, text in FENCED.findall(PAGE) if kind == language]


def commands() -> list[list[str]]:
    return [shlex.split(line) for block in fenced("sh") for line in block.splitlines()]


@pytest.fixture
def copied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder in which the page's first step was taken, and the ids are those of the files."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "our-scenarios" / "protocols").mkdir(parents=True)
    for command in commands():
        if command[0] == "cp":
            source = scenarios_dir() / Path(command[1]).relative_to("scenarios")
            shutil.copyfile(source, tmp_path / command[2])
    for path in (tmp_path / "our-scenarios").rglob("*.yaml"):
        text = path.read_text("utf-8")
        path.write_text(re.sub(r"(?m)^id: .*$", f"id: {path.stem}", text), "utf-8")
    return tmp_path / "our-scenarios" / "protocols" / "our-hospital.yaml"


def checked(capsys: pytest.CaptureFixture[str]) -> tuple[int, str]:
    """Run the page's check and return its exit status and what it said."""
    (command, *_) = [line for line in commands() if line[:2] == ["simengine", "check"]]
    status = main(command[1:])
    heard = capsys.readouterr()
    return status, heard.out + heard.err


def test_the_copy_checks_before_anything_is_changed(
    copied: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, heard = checked(capsys)
    assert (status, "0 errors" in heard) == (0, True)
    assert load_protocol(copied).signed_by is None


def test_a_changed_figure_is_held_against_the_scenario(
    copied: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = copied.read_text("utf-8")
    copied.write_text(text.replace("range: 21 %", "range: 21 kPa"), "utf-8")
    status, heard = checked(capsys)
    assert status == 1
    line = next(n for n, row in enumerate(text.splitlines(), 1) if "range: 21 %" in row)
    assert f"our-hospital.yaml:{line}:" in heard


def test_it_is_signed_as_the_page_says_and_checks_again(
    copied: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (signature,) = fenced("yaml")
    text = copied.read_text("utf-8")
    copied.write_text(text.replace("status: unsigned\n", signature), "utf-8")
    status, heard = checked(capsys)
    assert (status, "0 errors" in heard) == (0, True)
    signed = load_protocol(copied).signed_by
    assert signed is not None
    assert signed.name in signature
    assert signed.date in signature


def test_a_signature_without_a_day_is_refused(
    copied: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = copied.read_text("utf-8")
    half = "status: signed\nsigned_by: {name: 'Dr Ines Abara (invented)'}\n"
    copied.write_text(text.replace("status: unsigned\n", half), "utf-8")
    status, heard = checked(capsys)
    assert status == 1
    assert "date" in heard
