"""Each file in tests/scenarios/invalid gives exactly the messages that stand beside it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from simengine.problems import InputError
from simengine.scenario import check_file, load_scenario

SCENARIOS = Path(__file__).parents[1] / "scenarios"
INVALID = SCENARIOS / "invalid"
VALID = SCENARIOS / "valid"
FILES = sorted(path.name for path in INVALID.glob("*.yaml"))
# Right, but worth a second look: these have warnings alone.
WARNED = {
    name
    for name in FILES
    if all(
        ": warning: " in line
        for line in (INVALID / name.replace(".yaml", ".expected.txt"))
        .read_text(encoding="utf-8")
        .splitlines()
    )
}


def test_there_are_many_kinds_of_slip() -> None:
    assert len(FILES) >= 150
    assert {"warnings.yaml", "reference-without-text.yaml"} <= WARNED
    assert len(FILES) - len(WARNED) >= 100
    assert {path.stem for path in INVALID.glob("*.yaml")} == {
        path.name.removesuffix(".expected.txt") for path in INVALID.glob("*.txt")
    }


@pytest.mark.parametrize("name", FILES)
def test_each_slip_is_told_in_the_words_beside_it(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(INVALID)
    messages = [str(problem) for problem in check_file(name, search=[VALID])]
    expected = Path(name.replace(".yaml", ".expected.txt")).read_text(encoding="utf-8")
    assert messages == expected.splitlines()
    assert messages


@pytest.mark.parametrize("name", FILES)
def test_what_has_errors_is_not_loaded(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(INVALID)
    problems = check_file(name, search=[VALID])
    assert any(problem.level == "error" for problem in problems) is (name not in WARNED)
    if name not in WARNED and not name.startswith(("vocabulary-", "protocol-")):
        with pytest.raises(InputError):
            load_scenario(name, search=[VALID])


@pytest.mark.parametrize("name", FILES)
def test_each_problem_stands_on_a_line_of_the_file(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(INVALID)
    lines = Path(name).read_bytes().split(b"\n")
    for problem in check_file(name, search=[VALID]):
        assert problem.file == name
        assert 0 <= problem.line <= len(lines)
        assert problem.expected
        assert problem.code
        assert "None" not in str(problem)
        assert "Error" not in str(problem)


def test_a_missing_file_and_a_folder_are_told_in_words(tmp_path: Path) -> None:
    (missing,) = check_file(tmp_path / "not-there.yaml")
    assert missing.message == "expected a YAML file, found no file of this name"
    (folder,) = check_file(tmp_path)
    assert folder.message == "expected a YAML file, found a folder"


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path) -> None:
    large = tmp_path / "large.yaml"
    large.write_bytes(b"# " + b"x" * 1_000_001)
    (problem,) = check_file(large)
    assert problem.message == "expected a file of at most 1 MB, found a larger one"


def test_problems_of_vocabulary_and_protocol_are_told_with_the_scenario(tmp_path: Path) -> None:
    scenario = (VALID / "small.yaml").read_text(encoding="utf-8")
    (tmp_path / "small.yaml").write_text(scenario, encoding="utf-8")
    for kind in ("vocabulary", "protocols"):
        (tmp_path / kind).mkdir()
        for file in (VALID / kind).glob("*.yaml"):
            text = file.read_text(encoding="utf-8").replace("edition: '1'\n", "")
            text = text.replace("key: V", "key: VV")
            (tmp_path / kind / file.name).write_text(text, encoding="utf-8")
    problems = {
        (Path(problem.file).name, Path(problem.file).parent.name, problem.message)
        for problem in check_file(tmp_path / "small.yaml")
    }
    assert problems == {
        ("small.yaml", "vocabulary", "action 'mask_ventilation' › key: expected one character, "
         "found 'VV'"),
        ("small.yaml", "protocols", "expected the key 'edition', found none"),
        ("small-base.yaml", "protocols", "expected the key 'edition', found none"),
    }  # fmt: skip


def test_files_in_their_own_units_are_checked_without_loading_pint_or_numpy() -> None:
    script = (
        "import sys; from simengine.scenario import check_file\n"
        f"assert check_file({str(VALID / 'vocabulary' / 'small.yaml')!r}) == []\n"
        "sys.exit('pint' in sys.modules or 'numpy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
