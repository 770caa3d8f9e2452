"""`simengine debrief`: the debrief of one or several sessions, as a web page and a PDF."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.cli.verb import Verbs, add_output, add_scenario_choice, verb
from simengine.cli.verbs import VERBS

if TYPE_CHECKING:
    from simengine.debrief.wrote import Wrote
    from simengine.scoring.card import ScoreCard
    from simengine.session.record import Session


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "debrief",
        VERBS["debrief"],
        "simengine debrief term.session.jsonl --for k7f3 --output reports",
        run,
    )
    parser.add_argument("logs", metavar="LOG", nargs="+", type=Path, help="*.session.jsonl files")
    parser.add_argument(
        "--for",
        dest="trainee",
        metavar="TRAINEE",
        help="the personal debrief of this trainee code; several logs add a page on the trend",
    )
    parser.add_argument(
        "--card",
        type=Path,
        metavar="FILE",
        help="the score card that was kept of the one LOG, so that it is not scored again",
    )
    parser.add_argument(
        "--first-try",
        type=Path,
        metavar="LOG",
        help="the log of the session that LOG is a retry of, to stand beside it",
    )
    parser.add_argument(
        "--wrote",
        type=Path,
        metavar="FILE",
        help="what the trainee wrote of the session (JSON: goal, along, views), to stand beside it",
    )
    parser.add_argument(
        "--what-if",
        metavar="ITEM",
        help="in place of the debrief: what would have come of this item of LOG's marking guide as "
        "aimed for; '' for a page of all items that can be asked",
    )
    parser.add_argument(
        "--ask-at",
        default="",
        metavar="ADDRESS",
        help="where a server answers 'what if?': the web pages then lead there",
    )
    add_output(parser)
    add_scenario_choice(parser)


def run(args: argparse.Namespace) -> int:
    """Write the files and say where they are."""
    from simengine.cli.opened import opened
    from simengine.debrief import write_debrief

    read = [opened(log, args) for log in args.logs]
    sessions = [session for session, _ in read]
    kept = _kept(args.card) if args.card is not None and len(sessions) == 1 else None
    if args.what_if is not None:
        print(_what_if(args, sessions[-1], kept))
        return max(status for _, status in read)
    first = opened(args.first_try, args)[0] if args.first_try is not None else None
    for files in write_debrief(
        sessions,
        args.output,
        trainee=args.trainee,
        card=kept,
        first_try=first,
        wrote=_wrote(args.wrote) if args.wrote is not None else None,
        ask_at=args.ask_at,
    ):
        for written in (files, files.whole):
            print(written.html)
            print(written.pdf)
    print("For training only; local guidelines and licensed practice decide.", file=sys.stderr)
    return max(status for _, status in read)


def _what_if(args: argparse.Namespace, session: Session, kept: ScoreCard | None) -> Path:
    from simengine.debrief.what_if_page import write_what_if
    from simengine.scoring import score

    card = kept or score(session, redraws=0)
    return write_what_if(session, card, Path(args.output), args.what_if, trainee=args.trainee)


def _wrote(file: Path) -> Wrote:
    """Read what a trainee wrote. Raises ``InputError`` where it is no such file."""
    import json

    from simengine.debrief.wrote import wrote_from
    from simengine.problems import InputError, Problem

    try:
        return wrote_from(json.loads(file.read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError, AttributeError) as error:
        expected = "JSON with goal, along and views (item, words, answer)"
        problem = Problem(str(file), 0, 0, "", expected, str(error), "wrote-unreadable")
        raise InputError([problem]) from error


def _kept(file: Path) -> ScoreCard | None:
    from simengine.scoring.kept_card import card_from

    return card_from(file.read_bytes()) if file.exists() else None
