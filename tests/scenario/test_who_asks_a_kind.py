"""Nothing asks which kind an item or a condition is, but for the places listed here.

A question that is asked of every kind is answered by the kind itself (``simengine.scenario.key``,
``simengine.scoring.kinds``), and one of a condition by its clauses. What is left narrows in a
kind's own file, or works out what a condition of each form means.
"""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import simengine
from simengine.scenario import conditions
from simengine.scenario.key import CLASSES

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


def by_file(classes: frozenset[str]) -> Counter[str]:
    counts: Counter[str] = Counter()
    for path in sorted(PACKAGE.rglob("*.py")):
        number = len(list(asked(ast.parse(path.read_text("utf-8")), classes)))
        if number:
            counts[path.relative_to(PACKAGE).as_posix()] = number
    return counts


def test_which_kind_an_item_is_is_asked_in_the_listed_places_alone() -> None:
    assert dict(by_file(KINDS)) == ASK_A_KIND


def test_what_a_condition_is_made_of_is_asked_in_the_listed_places_alone() -> None:
    assert set(by_file(OF_PARTS)) == LOOK_INTO_A_CONDITION


def test_no_other_function_goes_through_the_clauses_of_a_condition() -> None:
    walks = [
        f"{path.relative_to(PACKAGE).as_posix()}:{node.name}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.FunctionDef)
        and any(
            isinstance(part, ast.YieldFrom) and _calls(part, node.name) for part in ast.walk(node)
        )
        and any(isinstance(part, ast.Attribute) and part.attr == "parts" for part in ast.walk(node))
    ]
    assert walks == ["scenario/conditions.py:leaves"]


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
