"""`simengine doctor`: is everything in order, and what to do where it is not."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path

from simengine.cli.console import PORT
from simengine.cli.stored import add_store, where_of
from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS

_SIGNS = {"good": "good ", "look": "look ", "wrong": "WRONG"}


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "doctor",
        VERBS["doctor"],
        "simengine doctor --data ~/mock-resuscitations",
        run,
    )
    add_store(parser)
    parser.add_argument(
        "--port", type=int, default=PORT, help=f"the console's port (default: {PORT})"
    )
    parser.add_argument("--json", action="store_true", help="for programs: what was found, as JSON")


def run(args: argparse.Namespace) -> int:
    """Look at everything, change nothing, say what to do; 1 where something is wrong."""
    from simengine.cli.progress import progress
    from simengine.doctor.examine import examine
    from simengine.store.data_folder import data_folder

    where = where_of(args)
    data = where if isinstance(where, Path) else data_folder()
    with progress("Sessions checked") as on_progress:
        findings = list(examine(where, data, args.port, on_progress=on_progress))
    wrong = sum(finding.level == "wrong" for finding in findings)
    if args.json:
        print(json.dumps([asdict(finding) for finding in findings], ensure_ascii=False, indent=2))
    else:
        for finding in findings:
            print(f"{_SIGNS[finding.level]}  {finding.about}: {finding.words}")
            if finding.do:
                print(f"       → {finding.do}")
        looks = sum(finding.level == "look" for finding in findings)
        print(f"{wrong} wrong, {looks} to look at; nothing was changed.", file=sys.stderr)
    return 1 if wrong else 0
