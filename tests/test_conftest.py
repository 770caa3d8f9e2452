import os
import subprocess
import sys
from pathlib import Path

import hypothesis
import pytest

from tests import amount
from tests.need import need, need_file


def test_home_is_an_empty_folder_of_the_test_also_in_a_child_process(
    no_folders_of_the_user: Path,
) -> None:
    child = subprocess.run(
        [sys.executable, "-c", "import pathlib; print(pathlib.Path.home())"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert child.stdout.strip() == str(no_folders_of_the_user)
    assert list(no_folders_of_the_user.iterdir()) == []


def test_plots_need_no_screen() -> None:
    assert os.environ["MPLBACKEND"] == "Agg"


def test_random_examples_have_no_deadline_and_repeat_in_ci() -> None:
    default = hypothesis.settings.default
    assert default is not None
    assert default.deadline is None
    many = default.max_examples == amount.MANY
    assert default.derandomize == (os.environ.get("CI") == "true" and not many)


def test_a_test_takes_its_share_of_examples_and_of_seeds() -> None:
    assert hypothesis.settings.default is not None
    taken = hypothesis.settings.default.max_examples
    assert taken in (amount.FEW, amount.USUAL, amount.MANY)
    assert amount.examples(200).max_examples == 2 * taken
    assert amount.seeds(50) == taken // 2
    assert amount.seeds(1) >= 1


def test_a_missing_tool_skips_the_test_of_a_person(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="no-such-command, from Debian's package it"):
        need("no-such-command", "it")


def test_a_missing_tool_fails_the_test_in_ci(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="no-such-command, from Debian's package it"):
        need("no-such-command", "it")
    with pytest.raises(pytest.fail.Exception, match="nowhere, from Debian's package it"):
        need_file(Path("/nowhere"), "it")


def test_a_tool_that_is_there_is_named(tmp_path: Path) -> None:
    file = tmp_path / "tool"
    file.write_text("#!/bin/sh\n")
    file.chmod(0o755)
    assert need(str(file), "it") == str(file)
    assert need_file(file, "it") == file
