"""`simengine import`: what comes into the store, told apart by what is in the files."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Literal

from simengine.cli.import_roster import add_roster, import_roster
from simengine.cli.stored import add_scenario_folders, add_store
from simengine.cli.verb import Verbs, verb

Sort = Literal["roster", "session", "bundle"]

_BY_SUFFIX: dict[str, Sort] = {
    ".csv": "roster",
    ".tsv": "roster",
    ".txt": "roster",
    ".jsonl": "session",
    ".zip": "bundle",
}


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "import",
        "bring a roster (CSV) into the store",
        "simengine import roster --dry-run",
        run,
    )
    parser.add_argument(
        "files",
        metavar="FILE",
        nargs="+",
        type=Path,
        help="roster files (CSV), or a folder of them",
    )
    add_store(parser)
    add_scenario_folders(parser)
    parser.add_argument(
        "--dry-run",
        action="store_true",
        help="read everything and say what would change; nothing is kept",
    )
    add_roster(parser)


def run(args: argparse.Namespace) -> int:
    """Import everything, or nothing if anything in it is wrong."""
    from simengine.problems import InputError, Problem

    sorts = {file: sort_of(file) for file in args.files}
    problems = [
        Problem(str(file), 0, 0, "", "a roster as CSV", f"a {sort}", "not-a-roster")
        for file, sort in sorts.items()
        if sort != "roster"
    ]
    if problems:
        raise InputError(problems)
    return import_roster(args, [file for file, sort in sorts.items() if sort == "roster"])


def sort_of(file: Path) -> Sort:
    """Return what a file holds: by how its name ends, else by how it begins."""
    known = _BY_SUFFIX.get(file.suffix.lower())
    if known is not None or not file.is_file():
        return known or "roster"
    with file.open("rb") as opened:
        begins = opened.read(2)
    return "bundle" if begins == b"PK" else "session" if begins[:1] == b"{" else "roster"
