"""`simengine new`: a scenario to start from, with plays; its names; or a roster's tables."""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path

from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "new",
        VERBS["new"],
        "simengine new my-scenario\n  simengine new --names\n  simengine new --roster my-unit",
        run,
    )
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument(
        "name",
        metavar="NAME",
        type=_name,
        nargs="?",
        help="the scenario's id: small letters, digits and hyphens",
    )
    what.add_argument(
        "--names",
        metavar="SCENARIO",
        nargs="?",
        const="",
        help="list the names of settings, observations, actions and protocol values that a "
        "scenario may use (default: those that a new one starts with)",
    )
    what.add_argument(
        "--roster",
        metavar="FOLDER",
        type=Path,
        help="write an example of each table of a roster (CSV) into this folder",
    )
    parser.add_argument(
        "--output",
        metavar="FOLDER",
        type=Path,
        default=Path(),
        help="where to write NAME.yaml and plays/NAME (default: here)",
    )


def _name(text: str) -> str:
    if not re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", text):
        raise argparse.ArgumentTypeError(
            f"small letters, digits and hyphens, such as my-scenario, not {text!r}"
        )
    return text


def run(args: argparse.Namespace) -> int:
    """Write the files, unless there is a scenario of this name."""
    from simengine.resources import scenarios_dir

    if args.roster is not None:
        return _roster(args.roster)
    start = scenarios_dir() / "new" / "starting-scenario.yaml"
    if args.names is not None:
        return _names(args.names or str(start))
    args.output.mkdir(parents=True, exist_ok=True)
    file = args.output / f"{args.name}.yaml"
    _copy(start, file, f"id: {args.name}")
    plays = args.output / "plays" / args.name
    plays.mkdir(parents=True, exist_ok=True)
    for play in sorted((start.parent / "plays" / start.stem).glob("*.yaml")):
        _copy(play, plays / play.name, f"scenario: {args.name}")
    print(f"Next: simengine check {file}", file=sys.stderr)
    return 0


def _copy(start: Path, file: Path, named: str) -> None:
    """Write a shipped file under a new name; ``named``: the line that names the scenario."""
    text = start.read_text(encoding="utf-8")
    # The comment that tells an editor where the schema is holds in a checkout alone.
    text = re.sub(r"^# yaml-language-server:[^\n]*\n#\n", "", text)
    key = named.partition(":")[0]
    text = re.sub(rf"^{key}: starting-scenario$", named, text, count=1, flags=re.MULTILINE)
    with file.open("x", encoding="utf-8", newline="\n") as opened:
        opened.write(text)
    print(file)


def _names(scenario: str) -> int:
    """Print every name that a scenario may use."""
    from simengine.scenario import load_scenario, scenario_file
    from simengine.scenario.names import name_lines

    for line in name_lines(load_scenario(scenario_file(scenario))):
        print(line)
    return 0


def _roster(folder: Path) -> int:
    """Write the example tables, none over one that is there."""
    from simengine.resources import scenarios_dir

    folder.mkdir(parents=True, exist_ok=True)
    for example in sorted((scenarios_dir() / "roster").glob("*.csv")):
        file = folder / example.name
        # The mark at its begin tells a spreadsheet program that this is UTF-8.
        with file.open("x", encoding="utf-8-sig", newline="\r\n") as opened:
            opened.write(example.read_text(encoding="utf-8"))
        print(file)
    print(
        f"Next: fill them in (an invented unit stands in them), then "
        f"simengine import {folder} --dry-run",
        file=sys.stderr,
    )
    return 0
