"""`simengine check`: every problem in scenarios, vocabularies, protocols and plays.

Rules of this file:

- A scenario's plays stand beside it and are played with it; a play that is named is played alone.
- A folder stands for the files in it, and in its folders of vocabularies, protocols and texts; the
  plays in it are played with their scenarios.
- What playing needs is imported only if there is something to play.
- Many files are checked, and their plays played, beside each other.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections.abc import Iterable, Sequence
from itertools import repeat
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS

if TYPE_CHECKING:
    from simengine.problems import Problem

_PLAYS = "plays"
_FEW = 4
"""Up to so many files are checked in this process, since others take a second to start."""
_BESIDE = ("vocabulary", "protocols", "equipment", "physiology", "agreement", "setup_pack", "pilot")


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "check",
        VERBS["check"],
        "simengine check scenarios/*.yaml\n  simengine check scenarios",
        run,
    )
    parser.add_argument("files", metavar="FILE", nargs="+", type=Path, help="files or folders")
    parser.add_argument(
        "--protocol", metavar="NAME", help="hold scenarios to another protocol: its id or file"
    )
    parser.add_argument("--json", action="store_true", help="as JSON on standard output")


def run(args: argparse.Namespace) -> int:
    """Print each problem; 1 if any is an error."""
    files = [file for named in args.files for file in _files(named)]
    problems = [problem for of_file in _checked(files, args.protocol) for problem in of_file]
    errors = sum(problem.level == "error" for problem in problems)
    if args.json:
        keys = ("file", "line", "column", "level", "code", "message")
        rows = [{key: getattr(problem, key) for key in keys} for problem in problems]
        print(json.dumps(rows, ensure_ascii=False, indent=2))
    else:
        for problem in problems:
            print(problem)
        from simengine.quantities.formatting import count

        warnings = len(problems) - errors
        print(
            f"{count(len(files), 'file')} checked: "
            f"{count(errors, 'error')}, {count(warnings, 'warning')}",
            file=sys.stderr,
        )
    return 1 if errors else 0


def _checked(files: Sequence[Path], protocol: str | None) -> Iterable[list[Problem]]:
    """Check files here or, where they are many, in the processes that all commands share."""
    if len(files) <= _FEW:
        return [_check(file, protocol) for file in files]
    from simengine.cli.workers import processes

    with processes() as executor:
        return list(executor.map(_check, files, repeat(protocol)))


def _files(named: Path) -> list[Path]:
    """Return the files that an argument stands for."""
    if not named.is_dir():
        return [named]
    if named.resolve().name == _PLAYS:
        return sorted(named.glob("*/*.yaml"))
    folders = [named, *(named / name for name in _BESIDE)]
    return [file for folder in folders for file in sorted(folder.glob("*.yaml"))]


def _is_play(file: Path) -> bool:
    """Whether a file is a play: by the keys that only plays have."""
    try:
        text = file.read_bytes()
    except OSError:
        return False
    return re.search(rb"^(steps|like|expect):", text, re.MULTILINE) is not None


def _check(file: Path, protocol: str | None) -> list[Problem]:
    """Check one file; a scenario without errors is also played."""
    if _is_play(file):
        from simengine.plays.check import check_play

        return check_play(file, protocol=protocol)
    from simengine.scenario import checked_file

    scenario, problems = checked_file(file, protocol=protocol)
    if scenario is not None:
        from simengine.pilot.unearned import may_be_unearned, unearned

        if may_be_unearned(scenario):
            problems = sorted([*problems, *unearned(scenario, file)])
        if protocol is None and (file.parent / _PLAYS / scenario.id).is_dir():
            from simengine.plays.check import check_plays

            problems += check_plays(file, scenario)
    return problems
