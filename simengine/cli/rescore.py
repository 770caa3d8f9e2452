"""`simengine rescore`: all stored sessions under the scenario and protocol of today."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from simengine.cli.stored import add_scenario_folders, add_store, open_store, scenario_folders
from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from simengine.exchange.changes import Change, Score
    from simengine.exchange.rescore import Run


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "rescore",
        VERBS["rescore"],
        "simengine rescore --data ~/mock-resuscitations --json",
        run,
    )
    add_store(parser)
    add_scenario_folders(parser)
    parser.add_argument(
        "--protocol", metavar="ID", help="score under this protocol in place of each log's own"
    )
    parser.add_argument(
        "--workers",
        type=_workers,
        metavar="N",
        help="processes that score (default: one for each processor)",
    )
    parser.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="score on a Dask cluster, such as tcp://host:8786; simengine of the same version has "
        "to be installed there (needs simengine[cluster] here)",
    )
    parser.add_argument("--json", action="store_true", help="as JSON on standard output")


def _workers(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 1000:
        raise argparse.ArgumentTypeError(f"a whole number from 1 to 1000, not {text!r}")
    return int(text)


def run(args: argparse.Namespace) -> int:
    """Score what is not up to date, and tell each session's change and its reason."""
    from simengine.cli.progress import progress
    from simengine.exchange.rescore import changes, rescore

    now = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    with open_store(args) as store:
        with _executor(args) as executor, progress("Sessions scored") as on_progress:
            done = rescore(
                store,
                scenario_folders(args),
                executor,
                protocol=args.protocol,
                now=now,
                told=on_progress,
            )
        (_print_json if args.json else _print)(done, changes(store, done.id))
    return 1 if done.problems else 0


@contextmanager
def _executor(args: argparse.Namespace) -> Iterator[Executor | None]:
    if args.cluster:
        with _client(args.cluster) as client:
            yield client.get_executor()
    elif args.workers == 1:
        yield None
    else:
        from simengine.cli.workers import processes

        with processes(args.workers) as executor:
            yield executor


def _client(address: str) -> Any:
    from simengine.problems import InputError, Problem

    def refused(expected: str, found: str, hint: str = "") -> InputError:
        return InputError([Problem(address, 0, 0, "", expected, found, "cluster", hint=hint)])

    try:
        from distributed import Client
    except ImportError:
        hint = "pip install 'simengine[cluster]'"
        raise refused("the package distributed, which speaks to it", "none", hint) from None
    try:
        return Client(address, timeout="10s")  # type: ignore[no-untyped-call]
    except (OSError, ValueError, TimeoutError) as error:
        raise refused("a Dask cluster that answers", str(error) or "no answer") from None


def _print_json(done: Run, changes: Iterator[Change]) -> None:
    """Print one JSON value, a session at a time, so that memory does not grow."""
    counts = {
        "run": done.id,
        "resumed": done.earlier is not None,
        "up_to_date": done.up_to_date - (done.earlier or 0),
        "scored": done.scored + (done.earlier or 0),
        "still_going_on": done.still_going_on,
        "gone_on_meanwhile": done.gone_on,
        "not_scored": done.problems,
    }
    print(json.dumps(counts, indent=2)[:-2] + ',\n  "sessions": [', end="")
    for number, change in enumerate(changes):
        row = {"session": change.session, "changed": change.changed, **change.as_json()}
        print("," * (number > 0), end="\n    ")
        print(json.dumps(row, ensure_ascii=False, allow_nan=False), end="")
    print("\n  ]\n}")


def _print(done: Run, changes: Iterator[Change]) -> None:
    changed = 0
    for change in changes:
        if change.problem:
            print(f"{change.session}  not scored: {change.problem}")
            continue
        changed += change.changed
        words = (
            f"{_words(change.before)} → {_words(change.after)}"
            if change.changed
            else "score as before"
        )
        signed = "; ".join(
            f"{each.outcome} ({each.whose}, {each.standing})" for each in change.signed
        )
        beside = f"  signed, and left as it is: {signed}" if signed else ""
        print(f"{change.session}  {words:<48}  because: {', '.join(change.why)}{beside}")
    if done.earlier is not None:
        print(
            f"Carried on from a run that was stopped after {done.earlier:,} sessions.",
            file=sys.stderr,
        )
    print(
        f"{done.scored + (done.earlier or 0):,} scored, of which {changed:,} have a new total or "
        f"outcome; {done.up_to_date - (done.earlier or 0):,} were up to date; "
        f"{done.still_going_on:,} have not ended; {done.problems:,} could not be scored.",
        file=sys.stderr,
    )
    if done.gone_on:
        print(
            f"{done.gone_on:,} had new entries meanwhile; run the command again for these.",
            file=sys.stderr,
        )


def _words(score: Score | None) -> str:
    if score is None:
        return "no score"
    from simengine.quantities.formatting import percent

    total = percent(score.total, 1, none="no total")
    return f"{total}, {score.outcome}" if score.outcome else total
