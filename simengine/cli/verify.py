"""`simengine verify`: is the log whole, in order, and were its automatic transitions due?"""

from __future__ import annotations

import argparse

from simengine.cli.verb import Verbs, add_log, verb
from simengine.cli.verbs import VERBS


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "verify",
        VERBS["verify"],
        "simengine verify term.session.jsonl",
        run,
    )
    add_log(parser)


def run(args: argparse.Namespace) -> int:
    """Say that the log is whole, or name the first line that is wrong."""
    from simengine.cli.opened import opened
    from simengine.session.verify import verify_log

    session, status = opened(args.log, args)
    problem = verify_log(session.scenario, session.events, file=str(args.log))
    if problem is not None:
        print(problem)
        return 1
    print(
        f"{args.log}: {len(session.events)} events, the chain is whole, and each automatic "
        f"transition was due. Last hash {session.last_hash}"
    )
    for finding in session.findings:
        if finding.code == "other-wording":
            print(finding.words)
    return status
