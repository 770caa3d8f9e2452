"""The reports' sentences stand in catalogues: each that code names is there, and each is used."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from string import Formatter

import pytest

import simengine
from simengine.catalogue import Catalogue

REPORTS = ("debrief", "cohort_report", "setup_pack", "pilot")
PACKAGES = (
    *REPORTS,
    "desk",
    "room",
    "coordinator",
    "practice_check",
    "certificate",
    "rehearsal",
    "rehearsal.bench",
)
"""Beside the reports, the parts of the console whose code makes sentences."""
OF_A_PILOT = {"pilot_page.py", "plots.py"}
"""The files of `pilot` that speak; the others play."""
ROOT = Path(simengine.__file__).parent
NOT_REPORTS = {
    # what writes files, and what is told of files that are wrong
    *("write_debrief.py", "write_pack.py", "write_report.py", "contents.py"),
    "__init__.py",
}


def code(package: str) -> list[tuple[Path, ast.Module]]:
    files = sorted(ROOT.joinpath(*package.split(".")).glob("*.py"))
    if package == "pilot":
        files = [file for file in files if file.name in OF_A_PILOT]
    return [(file, ast.parse(file.read_text("utf-8"))) for file in files]


def strings(node: ast.AST) -> set[str]:
    """The strings that an expression may come to: of either branch, or of any entry of a table."""
    if isinstance(node, ast.IfExp):
        return strings(node.body) | strings(node.orelse)
    if isinstance(node, ast.Dict):
        return set().union(*(strings(value) for value in node.values))
    if isinstance(node, ast.Subscript):
        return strings(node.value)
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
        return strings(node.func.value).union(*(strings(other) for other in node.args[1:]))
    return {node.value} if isinstance(node, ast.Constant) and isinstance(node.value, str) else set()


def said(package: str) -> Iterator[tuple[set[str], ast.Call]]:
    """The calls of ``say``, each with the keys that it may name (outright, or by ``key = …``)."""
    for _, tree in code(package):
        chosen: set[str] = set()
        for node in ast.walk(tree):
            if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "key":
                chosen |= strings(node.value)
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "say":
                yield strings(node.args[0]) or chosen, node


def sentences(package: str) -> dict[str, str]:
    return dict(Catalogue(f"simengine.{package}").sentences)


def unread(tree: ast.Module) -> set[int]:
    """The strings that nobody reads: docstrings, keys, and what is only compared with."""
    out: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr):
            out.add(id(node.value))
        elif isinstance(node, ast.Dict):
            out |= {id(key) for key in node.keys}
        elif isinstance(node, ast.Compare):
            out |= {id(part) for part in (node.left, *node.comparators)}
    return out


@pytest.mark.parametrize("package", PACKAGES)
def test_each_key_that_is_said_has_a_sentence_and_each_sentence_is_said(package: str) -> None:
    named: set[str] = set().union(*(keys for keys, _ in said(package)))
    for template in ROOT.joinpath(*package.split(".")).glob("templates/**/*.j2"):
        named |= set(re.findall(r'page\.say\("(\w+)"', template.read_text("utf-8")))
    assert named == set(sentences(package))


@pytest.mark.parametrize("package", PACKAGES)
def test_each_place_of_a_sentence_is_filled_wherever_it_is_said(package: str) -> None:
    table = sentences(package)
    for keys, call in said(package):
        filled = {keyword.arg for keyword in call.keywords}
        for key in keys:
            places = {name for _, name, _, _ in Formatter().parse(table[key]) if name is not None}
            assert places <= filled, key


@pytest.mark.parametrize("package", REPORTS)
def test_no_sentence_stands_in_the_code(package: str) -> None:
    wordy = []
    for file, tree in code(package):
        if file.name in NOT_REPORTS:
            continue
        passed = unread(tree)
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                words = re.findall(r"[A-Za-z]{2,}", node.value)
                key = node.value.isidentifier()
                if len(words) > 3 and not key and id(node) not in passed:
                    wordy.append(f"{file.name}:{node.lineno}: {node.value}")
    assert wordy == []


@pytest.mark.parametrize("package", [*PACKAGES, "scoring"])
def test_no_key_stands_twice(package: str) -> None:
    """YAML would take the second and say nothing."""
    text = Catalogue(f"simengine.{package}").file.read_text("utf-8")
    keys = re.findall(r"^(\w+):", text, flags=re.MULTILINE)
    assert [key for key in keys if keys.count(key) > 1] == []
