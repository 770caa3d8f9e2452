"""`simengine play`: what a play comes to, beside what it says must come."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS

if TYPE_CHECKING:
    from simengine.plays import Result


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "play",
        VERBS["play"],
        "simengine play scenarios/plays/term-not-breathing/by-the-book.yaml --output logs",
        run,
    )
    parser.add_argument("plays", metavar="PLAY", nargs="+", type=Path, help="a play's file")
    parser.add_argument(
        "--protocol", metavar="ID_OR_FILE", help="play under another protocol than the play names"
    )
    parser.add_argument(
        "--output", metavar="FOLDER", type=Path, help="where to write each play's session log"
    )
    parser.add_argument("--json", action="store_true", help="as JSON on standard output")


def run(args: argparse.Namespace) -> int:
    """Play each, and print what came; 1 if anything came otherwise than it must."""
    from simengine.plays import load_play, perform, result_of

    results = []
    for path in args.plays:
        play = load_play(path, protocol=args.protocol)
        result = result_of(perform(play, chained=args.output is not None))
        results.append(result)
        if args.output is not None:
            _write(result, args.output)
        if not args.json:
            _tell(path, result)
    if args.json:
        rows = [_as_json(path, played) for path, played in zip(args.plays, results, strict=True)]
        print(json.dumps(rows, ensure_ascii=False, indent=2, allow_nan=False))
    return 0 if all(result.met for result in results) else 1


def _write(result: Result, folder: Path) -> None:
    from simengine.session import write_log

    folder.mkdir(parents=True, exist_ok=True)
    play = result.performed.play
    file = folder / f"{play.scenario.id}-{play.name}.session.jsonl"
    write_log(file, result.performed.session.events)
    print(file, file=sys.stderr)


def _tell(path: Path, result: Result) -> None:
    from simengine.plays.results import entered, share, unsafe

    play, card = result.performed.play, result.card
    print(f"{path}: {play.title}")
    print(f"  states: {', '.join(entered(result.performed))}")
    print(f"  total {share(card.total)}, {card.outcome or 'no outcome'}")
    for reason in card.reasons:
        print(f"    {reason}")
    print(f"  unsafe: {', '.join(unsafe(card)) or 'none'}")
    for item in card.items:
        if item.credit is not None and item.credit < 1:
            print(f"  {item.id}: {share(item.credit)}, {item.verdict}: {item.sentence}")
    for line in result.lines:
        if line.met:
            print(f"  as expected: {line.what}: {line.expected}")
        else:
            print(
                f"  NOT AS EXPECTED (line {line.place.node.line}): {line.what}: "
                f"expected {line.expected}, found {line.came}"
            )


def _as_json(path: Path, result: Result) -> dict[str, Any]:
    from simengine.plays.results import unsafe
    from simengine.scoring.as_json import card_as_json

    performed = result.performed
    return {
        "file": str(path),
        "title": performed.play.title,
        "scenario": performed.play.scenario.id,
        "protocol": performed.play.scenario.protocol.id,
        "met": result.met,
        "states": [
            {"state": stay.state, "at_ms": stay.entry_ms} for stay in performed.session.stays
        ],
        "closed": performed.session.closed,
        "unsafe": list(unsafe(result.card)),
        "expected": [
            {
                "what": line.what,
                "expected": line.expected,
                "came": line.came,
                "met": line.met,
                "line": line.place.node.line,
            }
            for line in result.lines
        ],
        "score": card_as_json(result.card),
    }
