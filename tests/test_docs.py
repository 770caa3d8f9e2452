"""Documentation that is wrong fails.

Rules:
- Shell commands in README.md's `sh` blocks run as they stand, in a copy of what they may read:
  `simengine …` is run, `make …` must be a target of the Makefile, and anything else must be on a
  short list of commands that set a machine up.
- DEVELOPERS.md names every required dependency with its reason and docs/decisions/dependencies.md
  all others, and neither names one that is none.
- A link to a file of ours leads to one.
"""

import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import simengine

ROOT = Path(__file__).parents[1]
DOCUMENTS = [ROOT / name for name in ("README.md", "DEVELOPERS.md", "CHANGELOG.md")]
DEPENDENCIES = ROOT / "docs" / "decisions" / "dependencies.md"
READ_BY_COMMANDS = ("scenarios", "schemas", "reports")
SET_UP = ("cd", "git clone", "pip install", "python -m venv", ". .venv/bin/activate")


def shell_commands(document: Path) -> list[str]:
    blocks = re.findall(r"^```sh\n(.*?)^```", document.read_text(), re.MULTILINE | re.DOTALL)
    lines = "\n".join(blocks).replace("\\\n", " ").splitlines()
    return [line.strip() for line in lines if line.strip() and not line.startswith("#")]


def make_targets() -> set[str]:
    (phony,) = re.findall(r"^\.PHONY: (.*)$", (ROOT / "Makefile").read_text(), re.MULTILINE)
    return set(phony.split())


def name_of(requirement: str) -> str:
    match = re.match(r"[A-Za-z0-9._-]+", requirement)
    assert match is not None, requirement
    return re.sub(r"[-_.]+", "-", match[0]).lower()  # as the package index compares names


def listed_below(heading: str) -> list[str]:
    text = "\n".join(path.read_text() for path in (DOCUMENTS[1], DEPENDENCIES))
    section = text.split(f"\n{heading}:\n", 1)[1].lstrip("\n").split("\n\n", 1)[0]
    return [name_of(name) for name in re.findall(r"^- `([^`]+)`: \S", section, re.MULTILINE)]


@pytest.fixture(scope="module")
def copy_of_the_tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    copy = tmp_path_factory.mktemp("tree")
    for name in READ_BY_COMMANDS:
        shutil.copytree(ROOT / name, copy / name)
    return copy


@pytest.mark.parametrize(
    "command", [line for line in shell_commands(ROOT / "README.md") if line.startswith("simengine")]
)
def test_a_command_shown_in_the_readme_runs(command: str, copy_of_the_tree: Path) -> None:
    program = Path(sys.executable).with_name("simengine")
    run = subprocess.run(
        [program, *shlex.split(command)[1:]],
        cwd=copy_of_the_tree,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_other_commands_shown_are_known(document: Path) -> None:
    unknown = []
    for command in shell_commands(document):
        first, *others = shlex.split(command)
        if first == "make":
            unknown += [command] if not set(others) <= make_targets() else []
        elif first != "simengine":
            unknown += [command] if not command.startswith(SET_UP) else []
    assert unknown == []


def test_the_readme_shows_the_two_commands() -> None:
    assert {"make demo", "make test"} <= set(shell_commands(ROOT / "README.md"))


@pytest.mark.parametrize(
    ("heading", "extra"),
    [
        ("Required", None),
        ("Optional, as `simengine[cluster]`", "cluster"),
        ("For `make lock`, as `simengine[lock]`", "lock"),
        ("Optional, as `simengine[notebook]`", "notebook"),
        ("Optional, as `simengine[parquet]`", "parquet"),
        ("Optional, as `simengine[postgres]`", "postgres"),
        ("For tests", "test"),
    ],
)
def test_every_dependency_has_its_reason_and_no_other_is_named(
    heading: str, extra: str | None
) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    wanted = project["optional-dependencies"][extra] if extra else project["dependencies"]
    assert listed_below(heading) == sorted(map(name_of, wanted))


def test_every_debian_package_has_its_reason_and_no_other_is_named() -> None:
    lines = (ROOT / "tests" / "apt" / "packages.txt").read_text().splitlines()
    wanted = [line for line in lines if not line.startswith("#")]
    assert listed_below("From Debian, for tests") == sorted(wanted)


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_a_link_to_a_file_of_ours_leads_to_one(document: Path) -> None:
    links = re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", document.read_text())
    ours = [link for link in links if "://" not in link]
    assert [link for link in ours if not (document.parent / link).exists()] == []


def test_the_changelog_knows_this_version() -> None:
    assert f"\n## {simengine.__version__}" in (ROOT / "CHANGELOG.md").read_text()


def test_developers_need_two_pages() -> None:
    assert len((ROOT / "DEVELOPERS.md").read_text().splitlines()) <= 120
