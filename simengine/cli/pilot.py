"""`simengine pilot`: simulated teams, from slow to steady, play a scenario."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from simengine.cli.verb import Verbs, add_output, verb
from simengine.cli.verbs import VERBS


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "pilot",
        VERBS["pilot"],
        "simengine pilot term-not-breathing --runs 100 --seed 1 --output reports",
        run,
    )
    parser.add_argument("scenario", metavar="SCENARIO", help="a scenario file, or the id of one")
    parser.add_argument(
        "--runs", type=_teams, default=100, metavar="N", help="teams of each skill (default: 100)"
    )
    parser.add_argument(
        "--seed",
        type=int,
        default=1,
        metavar="N",
        help="repeats the same teams (default: 1)",
    )
    parser.add_argument("--protocol", metavar="ID_OR_FILE", help="another protocol to play under")
    parser.add_argument(
        "--skills", metavar="FILE", type=Path, help="your own skill levels (default: the shipped)"
    )
    add_output(parser)


def _teams(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 100_000:
        raise argparse.ArgumentTypeError(f"a whole number from 1 to 100000, not {text!r}")
    return int(text)


def run(args: argparse.Namespace) -> int:
    """Play, write the report, and say what stands out."""
    from simengine.cli.progress import progress
    from simengine.cli.workers import processes
    from simengine.pilot.findings import find
    from simengine.pilot.pilot_page import warnings
    from simengine.pilot.report import write_pilot
    from simengine.pilot.run_pilot import pilot
    from simengine.pilot.skills import load_skills
    from simengine.quantities.formatting import figure, percent, percent_span
    from simengine.scenario import load_scenario, scenario_file

    scenario = load_scenario(scenario_file(args.scenario), protocol=args.protocol)
    skills = load_skills(args.skills)
    with processes() as executor, progress("Teams playing") as on_progress:
        played = pilot(
            scenario, skills, runs=args.runs, seed=args.seed, executor=executor, told=on_progress
        )
    findings = find(scenario, skills, played, runs=args.runs, seed=args.seed)
    files = write_pilot(scenario, skills, findings, args.output)
    for level in findings.levels:
        if level.total is not None:
            print(
                f"{level.label:<10} {level.teams} teams, total {percent(level.total.median)} "
                f"(middle half {percent_span(level.total.lower, level.total.upper)})"
            )
    area = "not known" if findings.area is None else figure(findings.area, 3)
    print(f"How well it tells slow from steady: area under the curve {area}")
    for line in warnings(scenario, findings):
        print(f"To look at: {line}")
    print(files.html)
    print(files.record)
    for plot in files.plots:
        print(plot)
    print(f"Simulated teams. {scenario.vocabulary.caution}", file=sys.stderr)
    return 0
