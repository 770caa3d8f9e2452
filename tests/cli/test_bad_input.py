"""Wrong input: a clear message with file and line, status 1, and nothing lost."""

from pathlib import Path

import pytest

from simengine.cli.main import main


def ends_with_1(argv: list[str], capsys: pytest.CaptureFixture[str]) -> tuple[str, str]:
    """Run a command that has to end with status 1, and return what it printed."""
    assert main(argv) == 1
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return out, err


def replaced(file: Path, old: str, new: str) -> Path:
    """Change the first place in a file that reads so."""
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    return file


def test_a_wrong_unit_and_a_misspelt_action_are_told_at_once(
    scenario: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    replaced(scenario, "peak_pressure: 30 cmH2O", "peak_pressure: 30 kg")
    replaced(scenario, "expect: dry", "expect: dyr")
    out, err = ends_with_1(["check", str(scenario)], capsys)
    unit, action = out.splitlines()
    lines = scenario.read_text(encoding="utf-8").splitlines()
    wrong = 1 + next(n for n, line in enumerate(lines) if "30 kg" in line)
    assert unit.startswith(f"{scenario}:{wrong}:")
    assert "cmH2O" in unit
    assert "found '30 kg'" in unit
    assert "found 'dyr'" in action
    assert "did you mean 'dry'" in action
    assert "2 errors" in err


def test_a_cut_off_log_loses_its_last_line_alone(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = log.read_bytes()
    lines = whole.splitlines(keepends=True)
    cut = b"".join(lines[:30]) + lines[30][:100]
    log.write_bytes(cut)
    out, err = ends_with_1(["verify", str(log)], capsys)
    assert "30 events, the chain is whole" in out
    assert f"{log}:31:1: warning: expected a whole line" in err
    assert log.read_bytes() == cut


def test_a_changed_line_is_named(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = log.read_text(encoding="utf-8").splitlines()
    number = next(n for n, line in enumerate(lines) if '"value":70' in line)
    lines[number] = lines[number].replace('"value":70', '"value":80', 1)
    log.write_text("\n".join(lines) + "\n", encoding="utf-8")
    for verb in ("verify", "score"):
        _, err = ends_with_1([verb, str(log)], capsys)
        assert f"{log}:{number + 1}:1: hash" in err
        assert "the line was changed after it was written" in err


def test_a_missing_line_is_named(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = log.read_text(encoding="utf-8").splitlines(keepends=True)
    del lines[9]
    log.write_text("".join(lines), encoding="utf-8")
    _, err = ends_with_1(["verify", str(log)], capsys)
    assert f"{log}:10:1: prev" in err


@pytest.mark.parametrize("verb", ["score", "debrief", "replay", "verify"])
def test_a_missing_and_an_empty_log_are_told(
    verb: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    missing = tmp_path / "missing.session.jsonl"
    _, err = ends_with_1([verb, str(missing)], capsys)
    assert f"{missing}: expected a session log, found no such file" in err
    empty = tmp_path / "empty.session.jsonl"
    empty.touch()
    _, err = ends_with_1([verb, str(empty)], capsys)
    assert f"{empty}: expected a session log, found an empty file" in err


def test_a_missing_and_an_empty_scenario_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    empty = tmp_path / "empty.yaml"
    empty.touch()
    out, _ = ends_with_1(["check", str(tmp_path / "missing.yaml"), str(empty)], capsys)
    assert "missing.yaml: expected a YAML file" in out
    assert f"{empty}: expected a YAML file, found an empty one" in out


def test_a_misspelt_scenario_gets_the_nearest_id(capsys: pytest.CaptureFixture[str]) -> None:
    _, err = ends_with_1(["draw", "term-not-breating"], capsys)
    assert "did you mean 'term-not-breathing'?" in err


def test_another_version_of_the_scenario_is_an_error_unless_asked_for(
    log: Path, scenario: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    replaced(scenario, "version: 1.0.0", "version: 1.0.1")
    replaced(scenario, "pass: 55 %", "pass: 60 %")  # what the scorer reads, and not a word alone
    argv = ["score", str(log), "--scenario", str(scenario)]
    _, err = ends_with_1(argv, capsys)
    assert "expected scenario term-not-breathing version 1.0.0" in err
    assert "--any-version" in err
    assert main([*argv, "--any-version"]) == 0
    assert "read here under version 1.0.1" in capsys.readouterr().out


def test_a_scenario_with_errors_does_not_hide_the_right_one(
    log: Path, scenario: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    replaced(scenario, "expect: dry", "expect: dyr").rename(log.parent / scenario.name)
    assert main(["verify", str(log)]) == 0
    assert "the chain is whole" in capsys.readouterr().out


def test_an_unknown_trainee_is_told_the_codes_there_are(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, err = ends_with_1(["debrief", str(log), "--for", "nobody"], capsys)
    assert "h7vm2rxc" in err
    assert "found 'nobody'" in err


def test_a_fault_of_the_program_is_kept_in_a_file(
    log: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("on purpose")

    monkeypatch.setattr("simengine.scoring.score", broken)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    _, err = ends_with_1(["score", str(log)], capsys)
    (kept,) = tmp_path.glob("simengine-*.txt")
    assert str(kept) in err
    assert "on purpose" in kept.read_text(encoding="utf-8")
