"""`simengine draw`: the state diagram of a scenario."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "draw",
        VERBS["draw"],
        "simengine draw term-not-breathing --output term.svg",
        run,
    )
    parser.add_argument("scenario", metavar="SCENARIO", help="a scenario file, or the id of one")
    parser.add_argument("--mermaid", action="store_true", help="Mermaid text in place of SVG")
    parser.add_argument(
        "--output", metavar="FILE", type=Path, help="write to FILE (default: standard output)"
    )


def run(args: argparse.Namespace) -> int:
    """Write the diagram."""
    from simengine.scenario import load_scenario, scenario_file
    from simengine.scenario.diagram import mermaid, svg

    scenario = load_scenario(scenario_file(args.scenario))
    drawn = mermaid(scenario) if args.mermaid else svg(scenario)
    if args.output is None:
        print(drawn)
    else:
        args.output.write_text(drawn, encoding="utf-8")
        print(f"{args.output}: the states of {scenario.title!r}", file=sys.stderr)
    return 0
