"""`simengine brief`: the set-up pack and prebrief of a scenario, as PDF."""

from __future__ import annotations

import argparse
import sys

from simengine.cli.verb import Verbs, add_output, verb
from simengine.cli.verbs import VERBS


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "brief",
        VERBS["brief"],
        "simengine brief cot-term --output reports",
        run,
    )
    parser.add_argument("scenario", metavar="SCENARIO", help="a scenario file, or the id of one")
    parser.add_argument(
        "--protocol", metavar="ID_OR_FILE", help="the protocol whose figures it gives"
    )
    add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Write the pack and say where it is."""
    from datetime import UTC, datetime

    from simengine.scenario import load_scenario, scenario_file
    from simengine.setup_pack import write_setup_pack

    file = scenario_file(args.scenario)
    scenario = load_scenario(file, protocol=args.protocol)
    today = datetime.now(UTC).astimezone().date()
    print(write_setup_pack(scenario, args.output, day=today, folders=(file.parent,)))
    print(scenario.vocabulary.caution, file=sys.stderr)
    return 0
