"""`simengine import`: what comes into the store, told apart by what is in the files."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Literal

from simengine.cli.import_roster import add_roster, import_roster
from simengine.cli.import_sessions import add_sessions, import_sessions
from simengine.cli.stored import add_scenario_folders, add_store
from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS
from simengine.problems import InputError

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
        VERBS["import"],
        "simengine import roster --dry-run\n  simengine import term.session.jsonl --unit North",
        run,
    )
    parser.add_argument(
        "files",
        metavar="FILE",
        nargs="+",
        type=Path,
        help="roster files (*.csv), session logs (*.session.jsonl), bundles (*.bundle.zip), or "
        "folders of them",
    )
    add_store(parser)
    add_scenario_folders(parser)
    parser.add_argument(
        "--dry-run",
        action="store_true",
        help="read everything and say what would change; nothing is kept",
    )
    add_roster(parser)
    add_sessions(parser)


def run(args: argparse.Namespace) -> int:
    """Import the roster whole or not at all, then each session by itself, whatever came before."""
    files: dict[Sort, list[Path]] = {"roster": [], "session": [], "bundle": []}
    for file in _each(args.files):
        files[sort_of(file)].append(file)
    status = 0
    if files["roster"]:
        try:
            status = import_roster(args, files["roster"])
        except InputError as error:
            for problem in error.problems:
                print(problem, file=sys.stderr)
            status = 1
    if files["session"] or files["bundle"]:
        status = max(status, import_sessions(args, files["session"], files["bundle"]))
    return status


def _each(named: Iterable[Path]) -> Iterator[Path]:
    """Yield the files named; of a folder that holds sessions, what it holds."""
    for path in named:
        inside = sorted(path.iterdir()) if path.is_dir() else []
        known = [file for file in inside if file.suffix.lower() in _BY_SUFFIX]
        if any(sort_of(file) != "roster" for file in known):
            yield from (file for file in known if file.is_file())
        else:
            yield path


def sort_of(file: Path) -> Sort:
    """Return what a file holds: by how its name ends, else by how it begins."""
    known = _BY_SUFFIX.get(file.suffix.lower())
    if known is not None or not file.is_file():
        return known or "roster"
    try:
        with file.open("rb") as opened:
            begins = opened.read(2)
    except OSError:
        return "roster"  # whose reader tells what is in the way
    return "bundle" if begins == b"PK" else "session" if begins[:1] == b"{" else "roster"
