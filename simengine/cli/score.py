"""`simengine score`: the score of a session."""

from __future__ import annotations

import argparse
import json
import sys

from simengine.cli.verb import Verbs, add_log, verb
from simengine.cli.verbs import VERBS


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "score",
        VERBS["score"],
        "simengine score term.session.jsonl --json",
        run,
    )
    add_log(parser)
    parser.add_argument("--json", action="store_true", help="as JSON on standard output")


def run(args: argparse.Namespace) -> int:
    """Print the score card."""
    from simengine.cli.opened import opened
    from simengine.scoring import score

    session, status = opened(args.log, args)
    card = score(session)
    if args.json:
        from simengine.scoring.as_json import card_as_json

        print(json.dumps(card_as_json(card), ensure_ascii=False, indent=2, allow_nan=False))
    else:
        from simengine.scoring.as_text import card_as_text

        print(card_as_text(session, card))
        print(f"For training only. {session.scenario.vocabulary.caution}", file=sys.stderr)
    return status
