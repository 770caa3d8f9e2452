"""`simengine demo`: the main job on an empty machine, with a shipped session."""

from __future__ import annotations

import argparse
import sys

from simengine.cli.verb import Verbs, add_output, verb

SHIPPED = "term-not-breathing-first-try.session.jsonl"


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "demo",
        "play a shipped session, score it and write its debrief",
        "simengine demo",
        run,
    )
    add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Play, verify, score, write, and say what to do next."""
    from simengine.debrief import write_scored
    from simengine.resources import scenarios_dir
    from simengine.scoring import score
    from simengine.scoring.as_text import card_as_text
    from simengine.session.from_file import open_session
    from simengine.session.verify import verify_log

    log = scenarios_dir() / "sessions" / SHIPPED
    session = open_session(log).session
    problem = verify_log(session.scenario, session.events, file=str(log))
    if problem is not None:
        print(problem, file=sys.stderr)
        return 1
    print(f"Played {len(session.events)} events of an invented session through the engine.")
    print()
    card = score(session)
    print(card_as_text(session, card))
    print()
    print("The debrief is in")
    files = write_scored((session, card), args.output)
    print(f"  {files.html}   (open it in a browser)")
    print(f"  {files.pdf}")
    print(
        "\nNext:\n"
        f"  simengine replay {log} --at 2:30\n"
        f"  simengine draw {session.scenario.id} --output states.svg\n"
        "  copy a scenario from that folder, change it, and run simengine check on it\n"
    )
    print(session.scenario.vocabulary.caution)
    return 0
