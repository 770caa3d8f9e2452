"""What every verb's module uses to introduce itself and its arguments."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TypeAlias

Run = Callable[[argparse.Namespace], int]
Verbs: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def verb(verbs: Verbs, name: str, says: str, example: str, run: Run) -> argparse.ArgumentParser:
    """Add a verb whose help shows what it does and one example."""
    parser = verbs.add_parser(
        name,
        help=says,
        description=says[0].upper() + says[1:] + ".",
        epilog=f"example:\n  {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.set_defaults(run=run)
    return parser


def add_output(parser: argparse.ArgumentParser) -> None:
    """Add the argument that says into which folder reports go."""
    parser.add_argument(
        "--output",
        metavar="FOLDER",
        type=Path,
        default=Path("reports"),
        help="where to write (default: reports)",
    )


def day(text: str) -> date:
    """Return the day that an argument names."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"a day such as 2026-01-31, not {text!r}") from None


def add_period(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that choose a unit and a period, both days counted."""
    parser.add_argument("--unit", help="only sessions of this unit")
    parser.add_argument("--from", dest="since", metavar="DAY", type=day, help="from this day on")
    parser.add_argument("--to", dest="until", metavar="DAY", type=day, help="up to this day")


def add_log(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that choose a log and the scenario that it is read under."""
    parser.add_argument("log", metavar="LOG", type=Path, help="a *.session.jsonl file")
    add_scenario_choice(parser)


def add_scenario_choice(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that choose the scenario and protocol of a log."""
    parser.add_argument(
        "--scenario",
        metavar="FILE",
        type=Path,
        help="the scenario file (default: found by the id in the log, beside the log, "
        "in scenarios/, then among the shipped ones)",
    )
    parser.add_argument(
        "--protocol",
        metavar="ID_OR_FILE",
        help="score under this protocol in place of the one in the log",
    )
    parser.add_argument(
        "--any-version",
        action="store_true",
        help="go on although the scenario or protocol is not the version that was run",
    )
