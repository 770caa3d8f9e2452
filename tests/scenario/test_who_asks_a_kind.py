"""Nothing asks which kind an item or a condition is, but for the places listed here.

A question that is asked of every kind is answered by the kind itself (``simengine.scenario.key``,
``simengine.scoring.kinds``), and one of a condition by its clauses. What is left narrows in a
kind's own file, or works out what a condition of each form means.
"""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import NamedTuple

import simengine
from simengine.scenario import conditions
from simengine.scenario.kinds import CLASSES

PACKAGE = Path(simengine.__file__).parent
KINDS = frozenset(owner.__name__ for owner in CLASSES.values())
OF_PARTS = frozenset(("All", "AnyOf", "Not", "SoFar", "Lately"))

ASK_A_KIND = {
    # the arrays and helpers of a kind, which narrow to it
    "scoring/kinds/avoid.py": 2,
    "scoring/kinds/avoid_arrays.py": 1,
    "scoring/kinds/expect_arrays.py": 1,
    "scoring/kinds/keep.py": 1,
    "scoring/kinds/keep_arrays.py": 1,
    "scoring/kinds/order.py": 1,
    "scoring/kinds/order_arrays.py": 1,
    "scoring/kinds/repeat.py": 1,
    "scoring/kinds/repeat_arrays.py": 1,
    "scoring/kinds/respond.py": 1,
    "scoring/kinds/respond_arrays.py": 1,
    # what is taken from the total: only what is to be avoided is
    "scoring/deductions.py": 1,
    "scoring/at_once/table.py": 1,
    "scoring/cards.py": 1,
    # what a skilled team does on purpose for each kind: one that is not here is not aimed at
    "pilot/scenario_asks.py": 5,
    # what is done as asked in place of what was: again and again, and all the time
    "debrief/as_asked.py": 3,
    # what is to be avoided, as it is advised
    "debrief/not_advised_as_asked.py": 1,
    # what is asked again and again has its own line among what is expected
    "desk/expected.py": 1,
}

LOOK_INTO_A_CONDITION = {
    # its words, and the name of an item that has none
    "scenario/words.py",
    "scenario/item_reader.py",
    # whether one condition implies another, can hold, or why it can't
    "scenario/checks/implied.py",
    "scenario/checks/known.py",
    "scenario/checks/reasons.py",
    "scenario/checks/states.py",
    "scenario/checks/transitions.py",
    "scenario/checks/contradictions.py",
    # when it holds, by the record and in all redraws
    "scoring/clauses.py",
    "scoring/at_once/truths.py",
    "scoring/kinds/avoid.py",
    "scoring/kinds/keep.py",
    "scoring/kinds/respond.py",
    "scoring/kinds/respond_arrays.py",
    # what somebody has yet to do for it
    "pilot/needs.py",
    "pilot/known_to_team.py",
    "pilot/scenario_asks.py",
    "pilot/skilled_team.py",
    "pilot/unearned.py",
    "rehearsal/next_step.py",
    "debrief/kept_as_asked.py",
    "debrief/not_advised_as_asked.py",
    # what of it has come true, and what it waits for
    "debrief/story.py",
    "desk/coming.py",
    "desk/strips.py",
}


def asked(tree: ast.AST, classes: frozenset[str]) -> Iterator[str]:
    """The classes of ``classes`` that are asked for by ``isinstance`` or in a pattern."""
    for node in ast.walk(tree):
        named: set[str] = set()
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("isinstance", "type"):
            named = {
                part.id
                for arg in node.args[1:]
                for part in ast.walk(arg)
                if isinstance(part, ast.Name)
            }
        elif isinstance(node, ast.Compare) and isinstance(node.left, ast.Call):
            if getattr(node.left.func, "id", "") == "type":
                named = {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
        elif isinstance(node, ast.MatchClass):
            named = {getattr(node.cls, "id", "")}
        yield from named & classes


class InFile(NamedTuple):
    """How often a file asks for a kind and for a part of a condition, and its own walks."""

    kinds: int
    parts: int
    walks: list[str]


@cache
def by_file() -> Mapping[str, InFile]:
    """What each file of the package does, each read once."""
    files = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        named = Counter(asked(tree, KINDS | OF_PARTS))
        kinds, parts = (sum(named[name] for name in names) for names in (KINDS, OF_PARTS))
        files[path.relative_to(PACKAGE).as_posix()] = InFile(kinds, parts, list(walks(tree)))
    return files


def walks(tree: ast.AST) -> Iterator[str]:
    """The functions that go through the clauses of a condition and call themselves for it."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            parts = list(ast.walk(node))
            again = any(
                isinstance(part, ast.YieldFrom) and _calls(part, node.name) for part in parts
            )
            if again and any(getattr(part, "attr", "") == "parts" for part in parts):
                yield node.name


def test_which_kind_an_item_is_is_asked_in_the_listed_places_alone() -> None:
    assert {file: here.kinds for file, here in by_file().items() if here.kinds} == ASK_A_KIND


def test_what_a_condition_is_made_of_is_asked_in_the_listed_places_alone() -> None:
    assert {file for file, here in by_file().items() if here.parts} == LOOK_INTO_A_CONDITION


def test_no_other_function_goes_through_the_clauses_of_a_condition() -> None:
    recursive = [f"{file}:{name}" for file, here in by_file().items() for name in here.walks]
    assert recursive == ["scenario/conditions.py:leaves"]


def _calls(node: ast.AST, name: str) -> bool:
    return any(
        isinstance(part, ast.Call) and getattr(part.func, "id", "") == name
        for part in ast.walk(node)
    )


def test_every_clause_says_what_it_reads() -> None:
    for clause in conditions.Clause.__subclasses__():
        assert clause.names in ("action", "setting", "curve", "supply", "fault", "seen", "clock")
    leaves = {part.__name__ for part in conditions.Leaf.__args__}
    assert leaves == {clause.__name__ for clause in conditions.Clause.__subclasses__()}
