"""The list of what `check` says is the program's own: no code is missing, none is made up."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import simengine
from simengine.scenario import check_file

ROOT = Path(__file__).parents[2]
LIST = ROOT / "docs" / "check-messages.md"
EXAMPLES = ROOT / "tests" / "scenarios"
ROWS = re.findall(
    r"^\| `([a-z0-9-]+)` \| ([a-z ]+) \| (.+?) \| (?:\[([\w-]+)\]\(\S+\))? \|$",
    LIST.read_text(encoding="utf-8"),
    re.MULTILINE,
)
LISTED = {code: (level, example) for code, level, _, example in ROWS}
# What no YAML file can be an example of (tests/scenario/test_invalid_files.py has them), what only
# playing tells (tests/pilot/test_unearned.py), and what is said of plays (tests/plays).
NO_EXAMPLE = {"no-file", "not-a-file", "too-large", "unearned-total", "unearned-pass"} | {
    *("not-as-expected", "nothing-done", "before-start", "clock-event", "lasts", "too-often"),
    "other-file",
}
# Where the code of a problem stands among the arguments.
PLACES = {"say": 1, "Problem": 6, "QuantityError": 1, "Complaint": 2, "NoValueError": 1, "_at": 3}


def codes_in_the_source() -> set[str]:
    """Every code that the reader, the schemas and the checks write down as such."""
    package = Path(simengine.__file__).parent
    codes: set[str] = set()
    for file in (*package.glob("scenario/**/*.py"), *package.glob("quantities/*.py"),
                 *package.glob("plays/*.py"), package / "schemas.py"):  # fmt: skip
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                name = node.func.attr if isinstance(node.func, ast.Attribute) else ""
                name = node.func.id if isinstance(node.func, ast.Name) else name
                place = PLACES.get(name)
                given = node.args[place] if place is not None and len(node.args) > place else None
                if isinstance(given, ast.Constant) and isinstance(given.value, str):
                    codes.add(given.value)
    return codes


@pytest.fixture(scope="module")
def told() -> dict[str, dict[str, set[str]]]:
    """Code → example file → levels, as `check` says them."""
    messages: dict[str, dict[str, set[str]]] = {}
    for file in (EXAMPLES / "invalid").glob("*.yaml"):
        for problem in check_file(file, search=[EXAMPLES / "valid"]):
            levels = messages.setdefault(problem.code, {}).setdefault(file.stem, set())
            levels.add(problem.level)
    return messages


def test_each_code_stands_in_the_list_once() -> None:
    assert len(ROWS) == len(LISTED) > 90
    assert len(ROWS) == LIST.read_text(encoding="utf-8").count("\n| `")


def test_the_list_has_every_code_that_the_program_writes() -> None:
    codes = codes_in_the_source()
    assert len(codes) > 70
    assert codes - LISTED.keys() == set()


def test_the_list_has_every_code_that_an_example_gives_and_no_other(
    told: dict[str, dict[str, set[str]]],
) -> None:
    assert told.keys() == LISTED.keys() - NO_EXAMPLE


def test_each_code_has_the_level_and_the_example_that_the_list_names(
    told: dict[str, dict[str, set[str]]],
) -> None:
    for code, (level, example) in LISTED.items():
        if code not in NO_EXAMPLE:
            assert example in told[code], code
            levels = set.union(*told[code].values())
            assert set(level.split(" or ")) == levels, code
