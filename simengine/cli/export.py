"""`simengine export`: tables, statements, bundles, the roster, one person's data."""

from __future__ import annotations

import argparse
import json
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.cli.scoring import score_waiting
from simengine.cli.stored import add_scenario_folders, add_store, open_store, scenario_folders
from simengine.cli.verb import Verbs, add_period, verb
from simengine.cli.verbs import VERBS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from simengine.cohort.records import SessionResult
    from simengine.store import Store


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "export",
        VERBS["export"],
        "simengine export --csv --unit North --output export\n  simengine export --bundle c41d7f52",
        run,
    )
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument(
        "--csv", action="store_true", help="every session, item and fault as CSV, with a dictionary"
    )
    what.add_argument("--parquet", action="store_true", help="the same as Parquet")
    what.add_argument(
        "--published",
        action="store_true",
        help="figures of units as CSV, to be published: no person, no session, no small group",
    )
    what.add_argument(
        "--xapi",
        metavar="ADDRESS",
        type=_home,
        help="xAPI statements; ADDRESS is the hospital's own, below which codes are unique, such "
        "as https://training.hospital.example",
    )
    what.add_argument(
        "--bundle", metavar="SESSION", help="one session as a zip; the start of its id will do"
    )
    what.add_argument(
        "--roster",
        action="store_true",
        help="the roster, with names, as the tables that import reads",
    )
    what.add_argument(
        "--person", metavar="CODE", help="everything kept of one person, as JSON and text"
    )
    parser.add_argument(
        "--research",
        action="store_true",
        help="for research or teaching: what people did who have not agreed to that is the team's, "
        "and a bundle is written only where all of its people have",
    )
    add_period(parser)
    parser.add_argument(
        "--output",
        metavar="FOLDER",
        type=Path,
        default=Path("export"),
        help="where to write (default: export)",
    )
    add_store(parser)
    add_scenario_folders(parser)


def _home(text: str) -> str:
    from simengine.exchange.xapi import home_of

    try:
        return home_of(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(
            f"an address such as https://training.hospital.example, not {text!r}: {error}"
        ) from None


def run(args: argparse.Namespace) -> int:
    """Write the files and say where they are."""
    if args.research and (args.roster or args.person):
        print(
            "simengine export: --research goes with --csv, --parquet, --published, --xapi or "
            "--bundle",
            file=sys.stderr,
        )
        return 2
    with open_store(args) as store:
        if args.person:
            files = _person(store, args)
        elif args.bundle:
            files = [_bundle(store, args)]
        elif args.roster:
            files = _roster(store, args)
        else:
            files = _all(store, args)
    for file in files:
        print(file)
    return 0


def _all(store: Store, args: argparse.Namespace) -> list[Path]:
    from simengine.cli.progress import progress
    from simengine.cohort.consented import told_apart
    from simengine.cohort.evidence import as_practice
    from simengine.store.consents import counts

    score_waiting(store, args)
    everything = len(store.logs())
    may_count = counts(store, research=args.research)
    with progress("Sessions written") as on_progress:

        def results() -> Iterator[SessionResult]:
            all_results = store.results(unit=args.unit, since=args.since, until=args.until)
            for number, result in enumerate(all_results, start=1):
                yield as_practice(told_apart(result, may_count))
                on_progress(number, everything)

        return _tables(store, args, results(), may_count)


def _tables(
    store: Store,
    args: argparse.Namespace,
    results: Iterator[SessionResult],
    may_count: Callable[[str], bool],
) -> list[Path]:
    from simengine.exchange.outcomes_table import outcomes_table
    from simengine.exchange.session_tables import TABLES

    tables = (*TABLES, outcomes_table(store, may_count))
    if args.csv:
        from simengine.exchange.csv_files import write_csv

        return write_csv(results, args.output, tables)
    if args.parquet:
        from simengine.exchange.parquet_files import write_parquet

        return write_parquet(results, args.output, tables)
    if args.published:
        from simengine.exchange.published import write_published

        return write_published(results, args.output)
    from simengine.exchange.xapi_file import write_statements

    file, number = write_statements(store, results, args.xapi, args.output)
    print(f"{number:,} statements (rehearsals have none).", file=sys.stderr)
    return [file]


def _bundle(store: Store, args: argparse.Namespace) -> Path:
    from simengine.exchange.bundle import write_bundle
    from simengine.exchange.stored_bundle import stored_bundle

    session = _session(store, args.bundle)
    bundle = stored_bundle(store, session, scenario_folders(args), research=args.research)
    return write_bundle(bundle, args.output)


def _session(store: Store, named: str) -> str:
    from simengine.problems import InputError, Problem

    ids = [session for session in store.logs() if session.startswith(named.lower())]
    if len(ids) != 1:
        instead = f"{len(ids):,} sessions whose id begins so" if ids else "no session of this id"
        raise InputError([Problem(named, 0, 0, "", "the id of one session", instead, "session")])
    return ids[0]


def _roster(store: Store, args: argparse.Namespace) -> list[Path]:
    from dataclasses import replace

    from simengine.exchange.roster_files import write_roster
    from simengine.store.attendances import attendances
    from simengine.store.people import roster

    whole = replace(roster(store), attendances=attendances(store))
    return write_roster(whole, args.output)


def _person(store: Store, args: argparse.Namespace) -> list[Path]:
    from simengine.exchange.person import person_as_json
    from simengine.exchange.person_text import person_as_text
    from simengine.exchange.placing import Placing

    person = person_as_json(store, args.person)
    with Placing(args.output) as placing:
        name = f"person-{re.sub(r'[^A-Za-z0-9-]', '_', args.person)}"
        text = json.dumps(person, ensure_ascii=False, indent=2, allow_nan=False)
        placing.place(f"{name}.json").write_text(text + "\n", encoding="utf-8")
        placing.place(f"{name}.txt").write_text(person_as_text(person), encoding="utf-8")
    return placing.files
