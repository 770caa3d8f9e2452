"""`simengine replay`: a session in time order, at one instant, or as a table of its curves."""

from __future__ import annotations

import argparse
import csv
import json
import re
import sys
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from simengine.cli.verb import Verbs, add_log, verb
from simengine.cli.verbs import VERBS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from simengine.session.record import Session
    from simengine.session.replay import Moment


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "replay",
        VERBS["replay"],
        "simengine replay term.session.jsonl --at 2:30",
        run,
    )
    add_log(parser)
    parser.add_argument(
        "--at",
        metavar="M:SS",
        type=clock_ms,
        help="the state at this time on the team's clock (since the start, if it never started)",
    )
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="as JSON on standard output")
    form.add_argument("--csv", action="store_true", help="the curves, a row for each second")


def run(args: argparse.Namespace) -> int:
    """Print what is asked for."""
    from simengine.cli.opened import opened
    from simengine.session.replay import curve_columns, curve_rows, state_at

    session, status = opened(args.log, args)
    if args.csv:
        writer = csv.writer(sys.stdout, lineterminator="\n")
        writer.writerow(curve_columns(session))
        writer.writerows(curve_rows(session))
        return status
    if args.at is None:
        rows = list(story(session))
        if args.json:
            print(json.dumps(rows, ensure_ascii=False, indent=2))
        else:
            from simengine.quantities.formatting import clock

            for row in rows:
                print(f"{clock(row['clock_ms']):>8}  {row['words']}")
        return status
    moment = state_at(session, args.at + (session.record.clock_ms or 0))
    if args.json:
        print(json.dumps(asdict(moment), ensure_ascii=False, indent=2, allow_nan=False))
    else:
        print("\n".join(moment_lines(session, moment)))
    return status


def clock_ms(text: str) -> int:
    """Read a time on the clock such as ``2:30``, ``-0:20`` or ``2:30.5``, in ms."""
    match = re.fullmatch(r"([-−]?)(\d+):([0-5]\d(?:\.\d{1,3})?)", text)
    if match is None:
        raise argparse.ArgumentTypeError(f"expected a time such as 2:30, found {text!r}")
    sign, minutes, seconds = match.groups()
    return (-1 if sign else 1) * (int(minutes) * 60_000 + round(float(seconds) * 1000))


def story(session: Session) -> Iterator[dict[str, Any]]:
    """Yield the entries, corrections applied, in order of time."""
    from simengine.session.entry_words import entry_words
    from simengine.session.notebook import in_order

    zero = session.record.clock_ms or 0
    for at_ms, event in in_order(session):
        yield {
            "at_ms": at_ms,
            "clock_ms": at_ms - zero,
            "kind": event.kind,
            "role": event.data.get("role"),
            "words": entry_words(session.scenario, event),
            "id": event.id,
        }


def moment_lines(session: Session, moment: Moment) -> Iterator[str]:
    """Yield what there is to know of one instant, true values told apart from known ones."""
    from simengine.quantities.formatting import clock, format_duration, value_words

    def value(amount: float | str | None, unit: str | None, decimals: int | None = None) -> str:
        return "unknown" if amount is None else value_words(amount, unit, decimals)

    at = moment.clock_ms if moment.clock_ms is not None else moment.at_ms
    since = "on the team's clock" if moment.clock_ms is not None else "since the start"
    yield f"{clock(at)} {since}: {moment.state_title or 'before the first state'}"
    observations = session.scenario.vocabulary.observations
    for seen in moment.observations:
        decimals = observations[seen.name].decimals
        known = "the team does not know"
        if seen.known is not None:
            reading = value(seen.known.value, seen.unit, decimals)
            age = "now" if seen.known.streams else f"{format_duration(seen.known.age_ms)} ago"
            known = f"the team knows {reading}, {age}"
        elif seen.reads_in_ms is not None:
            known += f"; first reading in {format_duration(seen.reads_in_ms)}"
        yield f"  {seen.label}: {value(seen.value, seen.unit, decimals)} ({known})"
    for setting in moment.settings:
        note = "" if setting.touched else ", as found"
        yield f"  {setting.label}: {value(setting.value, setting.unit)}{note}"
    for supply in moment.supplies:
        lasts = (
            f", lasts {format_duration(supply.lasts_ms)} at this rate"
            if supply.lasts_ms is not None
            else ""
        )
        yield f"  {supply.label}: {value(supply.contents, supply.unit, 0)}{lasts}"
    for action in moment.doing:
        yield f"  Running: {action.label}, for {format_duration(moment.at_ms - action.since_ms)}"
    for fault, status in moment.faults.items():
        shows = session.scenario.start.faults[fault].shows
        yield f"  Fault {'put right' if status == 'mended' else status}: {shows}"
