"""The guide to writing a scenario: its commands run in order, its YAML is that of its example."""

import re
import shlex
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.pilot.findings import find
from simengine.pilot.run_pilot import pilot
from simengine.pilot.skills import load_skills
from simengine.resources import scenarios_dir
from simengine.scenario import check_file, load_scenario
from simengine.scenario.kinds import CLASSES

DOCS = Path(__file__).parents[2] / "docs"
GUIDE = (DOCS / "writing-scenarios.md").read_text(encoding="utf-8")
EXAMPLE = DOCS / "examples" / "cooling-on-the-way.yaml"
PLAY = DOCS / "examples" / "plays" / "cooling-on-the-way" / "by-the-book.yaml"


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", GUIDE, re.MULTILINE | re.DOTALL)


def test_the_guides_commands_lead_from_nothing_to_a_piloted_scenario(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    commands = "".join(blocks("sh")).splitlines()
    assert len(commands) == 8
    for command in commands:
        program, *arguments = shlex.split(command)
        assert program == "simengine"
        assert main(arguments) == 0, command
    assert (tmp_path / "my-scenario.svg").is_file()
    assert (tmp_path / "pilot" / "pilot-my-scenario.html").is_file()
    assert (tmp_path / "pack" / "brief-my-scenario.pdf").is_file()


@pytest.mark.parametrize("block", blocks("yaml"))
def test_a_piece_of_yaml_in_the_guide_stands_so_in_its_example(block: str) -> None:
    example = EXAMPLE.read_text(encoding="utf-8") + PLAY.read_text(encoding="utf-8")
    # The guide may leave out items between two that it shows, and never a line within one.
    pieces = re.split(r"\n(?=  - )", block.rstrip()) if block.startswith("  - ") else [block]
    assert block.strip()
    for piece in pieces:
        assert piece.rstrip() in example


def test_the_kinds_of_item_in_the_guide_are_those_of_the_program(tmp_path: Path) -> None:
    rows = re.findall(r"^\| `(\w+)` \| .+? \| `(\{.+\})` \|$", GUIDE, re.MULTILINE)
    assert tuple(kind for kind, _ in rows) == tuple(CLASSES)
    shipped = scenarios_dir() / "term-not-breathing.yaml"
    head, _, _ = shipped.read_text(encoding="utf-8").partition("\nkey:\n")
    items = "".join(f"  - {text}\n" for _, text in rows)
    file = tmp_path / "kinds.yaml"
    file.write_text(f"{head}\nkey:\n{items}", encoding="utf-8")
    errors = [str(problem) for problem in check_file(file) if problem.level == "error"]
    assert errors == []
    assert len(load_scenario(file).key) == len(CLASSES)


def test_the_play_of_the_example_comes_out_as_it_says() -> None:
    assert main(["play", str(PLAY)]) == 0
    assert main(["check", str(EXAMPLE)]) == 0


def test_the_example_is_right_and_tells_slow_from_steady_teams() -> None:
    assert [str(problem) for problem in check_file(EXAMPLE)] == []
    scenario, skills = load_scenario(EXAMPLE), load_skills()
    findings = find(scenario, skills, pilot(scenario, skills, runs=30, seed=1), runs=30, seed=1)
    assert findings.tells_apart
    assert (
        findings.gaming
        == findings.never_reached
        == findings.never_entered
        == findings.left_at_once
        == ()
    )
    assert findings.not_attained == ()


@pytest.mark.parametrize("document", sorted(DOCS.glob("*.md")), ids=lambda path: path.name)
def test_a_link_in_the_guides_leads_to_a_file(document: Path) -> None:
    links = re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", document.read_text(encoding="utf-8"))
    ours = [link for link in links if "://" not in link]
    assert [link for link in ours if not (document.parent / link).exists()] == []
