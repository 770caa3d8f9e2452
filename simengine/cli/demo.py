"""`simengine demo`: the main job on an empty machine, with a shipped session and cohort."""

from __future__ import annotations

import argparse
import sys

from simengine.cli.verb import Verbs, add_output, verb
from simengine.cli.verbs import VERBS

SHIPPED = "term-not-breathing-first-try.session.jsonl"


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "demo",
        VERBS["demo"],
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
    files = write_scored([(session, card)], args.output)
    print(f"  {files.html}   (open it in a browser)")
    print(f"  {files.pdf}")
    print(f"  {files.whole.html}   (the whole)")
    print(f"  {files.whole.pdf}")
    print(flush=True)
    _cohort(args)
    print(
        "\nNext:\n"
        f"  simengine replay {log} --at 2:30\n"
        f"  simengine draw {session.scenario.id} --output states.svg\n"
        "  copy a scenario from that folder, change it, and run simengine check on it\n"
        f"  simengine import {scenarios_dir() / 'cohort' / 'roster'} --dry-run   (a roster)\n"
    )
    print(session.scenario.vocabulary.caution)
    return 0


def _cohort(args: argparse.Namespace) -> None:
    """Let an invented hospital train, and write its cohort report and a certificate."""
    from simengine.certificate.draw_certificate import certificate_pdf
    from simengine.cli.progress import progress
    from simengine.cohort_report import write_cohort
    from simengine.cohort_report.demo import demo_cohort
    from simengine.cohort_report.demo.attended import demo_certificate
    from simengine.cohort_report.demo.material import demo_material
    from simengine.private_files import write_private

    with progress("An invented hospital trains") as on_progress:
        cohort = demo_cohort(told=on_progress)
    print(
        f"An invented hospital trained {len(cohort.roster.trainees)} people in "
        f"{len(cohort.sessions)} sessions, played by simulated teams. Its cohort report is in"
    )
    files = write_cohort(demo_material(cohort), args.output)
    print(f"  {files.html}")
    print(f"  {files.pdf}")
    certificate = args.output / "certificate-of-attendance.pdf"
    write_private(certificate, certificate_pdf(demo_certificate(cohort)))
    print("One of its people has a certificate of attendance in")
    print(f"  {certificate}")
