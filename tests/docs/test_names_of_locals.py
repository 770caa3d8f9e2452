"""Locals are named for what they hold.

- ``one``, ``found``, ``told``, ``asked`` and ``said`` fit whatever a line happens to hold, so a
  reader has to look up what was meant. No local has one of these names: no variable of a
  function, of a loop or of a comprehension, in the program or in its tests.
- Fields, functions and what a function takes may have them: there they are words of the craft
  (what was told of the baby, what a problem found) and stand beside what they belong to.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

VAGUE = {"one", "found", "told", "asked", "said"}
ROOT = Path(__file__).parents[2]
FOLDERS = ("simengine", "tests", "benchmarks", "docs")


def _fields(tree: ast.Module) -> set[ast.expr]:
    """The names of fields, which stand in a class and in no function of it."""
    out: set[ast.expr] = set()
    for node in ast.walk(tree):
        for statement in node.body if isinstance(node, ast.ClassDef) else ():
            if isinstance(statement, ast.AnnAssign):
                out.add(statement.target)
            elif isinstance(statement, ast.Assign):
                out.update(statement.targets)
    return out


def vague_locals(text: str) -> Iterator[tuple[int, str]]:
    """Yield line and name of each local of a Python file that has a vague name."""
    tree = ast.parse(text)
    fields = _fields(tree)
    for node in ast.walk(tree):
        name = ""
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store) and node not in fields:
            name = node.id
        elif isinstance(node, ast.ExceptHandler | ast.MatchAs | ast.MatchStar):
            name = node.name or ""
        if name in VAGUE:
            yield node.lineno, name  # type: ignore[attr-defined]
        if isinstance(node, ast.Lambda):
            taken = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
            yield from ((arg.lineno, arg.arg) for arg in taken if arg.arg in VAGUE)


@pytest.mark.parametrize("folder", FOLDERS)
def test_no_local_has_a_name_that_fits_anything(folder: str) -> None:
    vague = [
        f"{file.relative_to(ROOT)}:{line}: {name}"
        for file in sorted((ROOT / folder).rglob("*.py"))
        for line, name in vague_locals(file.read_text(encoding="utf-8"))
    ]
    assert vague == []


@pytest.mark.parametrize(
    "text",
    [
        "def f(rows):\n    return [one for one in rows]",
        "for key, told in {}.items():\n    print(key, told)",
        "def f():\n    found: list[int] = []\n    return found",
        "if (said := input()):\n    print(said)",
        "with open('x') as asked:\n    pass",
        "try:\n    pass\nexcept OSError as told:\n    pass",
        "key = sorted([], key=lambda one: one.name)",
        "match 1:\n    case int() as found:\n        pass",
    ],
)
def test_each_way_of_naming_a_local_is_seen(text: str) -> None:
    assert list(vague_locals(text))


def test_fields_functions_and_what_they_take_keep_the_words_of_the_craft() -> None:
    text = "class A:\n    told: int = 0\n    found = 1\n\ndef said(asked):\n    return asked.found"
    assert list(vague_locals(text)) == []
