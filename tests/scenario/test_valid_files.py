"""Each check of a scenario as a whole has two files: one that it complains of, and a near miss.

The near miss has the same name in `valid`: the least change that makes it right.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from simengine.scenario import check_file, checks

SCENARIOS = Path(__file__).parents[1] / "scenarios"
VALID = SCENARIOS / "valid"
INVALID = SCENARIOS / "invalid"
FILES = sorted(VALID.glob("**/*.yaml"))
PAIRS = sorted(path.name for path in VALID.glob("*.yaml") if (INVALID / path.name).is_file())


def codes_of_the_checks() -> set[str]:
    """The codes that the package of checks can give, read from its source."""
    codes: set[str] = set()
    for file in Path(checks.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Attribute)
                and node.func.attr == "say"
            ):
                code = node.args[1]
                if isinstance(code, ast.Constant):
                    codes.add(str(code.value))
    return codes


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_valid_file_has_nothing_to_complain_of(path: Path) -> None:
    assert [str(problem) for problem in check_file(path)] == []


@pytest.mark.parametrize("name", PAIRS)
def test_a_near_miss_differs_little_from_what_is_wrong(name: str) -> None:
    def lines(path: Path) -> list[str]:
        text = path.read_text(encoding="utf-8")
        return [line for line in text.splitlines() if not line.startswith("#")]

    right, wrong = lines(VALID / name), lines(INVALID / name)
    assert right != wrong
    assert len(set(right) ^ set(wrong)) <= 8


def test_every_check_of_the_whole_has_a_file_of_each() -> None:
    told_codes = {
        problem.code for name in PAIRS for problem in check_file(INVALID / name, search=[VALID])
    }
    codes = codes_of_the_checks()
    assert len(codes) > 25
    assert codes - told_codes == set()
