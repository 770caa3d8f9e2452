"""`check` plays a scenario with teams that take no skill, where these could get something."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.pilot.run_pilot import NOTHING, play_one
from simengine.pilot.skills import load_skills
from simengine.pilot.unearned import QUARTER, may_be_unearned
from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario

VALID = Path(__file__).parents[1] / "scenarios" / "valid"
KEPT = "  - {keep: {not: {doing: compressions}}, during: [limp], objective: ventilate}\n"
STANDARD = """\
scoring:
  pass: 60 %
  standard: {method: none, panel: 'invented, for tests', date: 2026-01-31}
"""


def base() -> str:
    return (VALID / "clock-unused.yaml").read_text(encoding="utf-8")


def codes(text: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> list[tuple[str, int]]:
    """What `check --json` says of a scenario beside the small vocabulary: (code, line)."""
    for kind in ("vocabulary", "protocols"):
        (folder / kind).mkdir(exist_ok=True)
        for file in (VALID / kind).glob("*.yaml"):
            (folder / kind / file.name).write_text(file.read_text(encoding="utf-8"))
    file = folder / "played.yaml"
    file.write_text(text, encoding="utf-8")
    assert main(["check", str(file), "--json"]) == 0
    return [(load["code"], load["line"]) for load in json.loads(capsys.readouterr().out)]


def test_a_team_that_does_nothing_must_not_pass_a_quarter(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Weights: what is kept 2, the ventilation that is missed 2, so that half is had for nothing.
    text = base() + KEPT
    line = text.splitlines().index("key:") + 1
    assert codes(text, tmp_path, capsys) == [("unearned-total", line)]


def test_a_quarter_itself_is_not_too_much(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Weights: what is kept 1, the ventilation that is missed 3: one of four.
    text = base().replace("    ideal: 60 s\n", "    ideal: 60 s\n    importance: essential\n")
    text += KEPT.replace("objective:", "importance: helpful, objective:")
    assert codes(text, tmp_path, capsys) == []


def test_a_team_that_does_everything_at_once_must_not_be_marked_as_achieved(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = base().replace("    ideal: 60 s\n", "    ideal: 60 s\n    importance: essential\n")
    marked = text.replace("key:\n", f"{STANDARD}key:\n")
    line = marked.splitlines().index("  pass: 60 %") + 1
    assert codes(marked, tmp_path, capsys) == [("unearned-pass", line)] * 2  # the other stops
    invented = marked.replace("standard: {", "standard: {demonstration: true, ")
    assert codes(invented, tmp_path, capsys) == [], "nobody passes under an invented mark"
    stopped = marked + (
        "  - {avoid: compressions, stops_pass: true, objective: ventilate}\n"
        "  - {expect: listen, from: {state: better}, ideal: 30 s, must_reach: true,\n"
        "     importance: essential, objective: ventilate}\n"
    )
    assert codes(stopped, tmp_path, capsys) == []


@pytest.mark.parametrize("path", sorted(scenarios_dir().glob("*.yaml")), ids=lambda path: path.stem)
def test_where_nothing_is_played_there_is_nothing_to_get(path: Path) -> None:
    scenario = load_scenario(path)
    total = play_one(scenario, load_skills(), 0, NOTHING, 0).total
    assert (total or 0.0) <= QUARTER
    if not may_be_unearned(scenario):
        assert not total
