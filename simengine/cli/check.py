"""`simengine check`: every problem in scenarios, vocabularies and protocols."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.cli.verb import Verbs, verb

if TYPE_CHECKING:
    from simengine.problems import Problem


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "check",
        "list every problem in scenarios, vocabularies and protocols",
        "simengine check scenarios/*.yaml",
        run,
    )
    parser.add_argument("files", metavar="FILE", nargs="+", type=Path)
    parser.add_argument(
        "--protocol", metavar="NAME", help="hold scenarios to another protocol: its id or file"
    )
    parser.add_argument("--json", action="store_true", help="as JSON on standard output")


def run(args: argparse.Namespace) -> int:
    """Print each problem; 1 if any is an error."""
    problems = [problem for file in args.files for problem in _check(file, args.protocol)]
    errors = sum(problem.level == "error" for problem in problems)
    if args.json:
        keys = ("file", "line", "column", "level", "code", "message")
        rows = [{key: getattr(problem, key) for key in keys} for problem in problems]
        print(json.dumps(rows, ensure_ascii=False, indent=2))
    else:
        for problem in problems:
            print(problem)
        warnings = len(problems) - errors
        print(
            f"{_count(len(args.files), 'file')} checked: "
            f"{_count(errors, 'error')}, {_count(warnings, 'warning')}",
            file=sys.stderr,
        )
    return 1 if errors else 0


def _check(file: Path, protocol: str | None) -> list[Problem]:
    """Check one file; a scenario without errors is also played by teams that take no skill."""
    from simengine.scenario import checked_file

    scenario, problems = checked_file(file, protocol=protocol)
    if scenario is not None:
        from simengine.pilot.unearned import may_be_unearned, unearned

        if may_be_unearned(scenario):
            problems = sorted([*problems, *unearned(scenario, file)])
    return problems


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
