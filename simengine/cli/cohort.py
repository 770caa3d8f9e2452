"""`simengine cohort`: the cohort report over the store."""

from __future__ import annotations

import argparse
import sys
from datetime import date, datetime
from typing import TYPE_CHECKING

from simengine.cli.scoring import score_waiting
from simengine.cli.stored import add_scenario_folders, add_store, open_store
from simengine.cli.verb import Verbs, add_output, add_period, verb
from simengine.cli.verbs import VERBS

if TYPE_CHECKING:
    from simengine.cohort_report.material import Material
    from simengine.store import Store

FEW = 30
"""Fewer sessions are called few here; the report says so itself."""


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "cohort",
        VERBS["cohort"],
        "simengine cohort --unit North --from 2026-01-01 --to 2026-06-30 --output reports",
        run,
    )
    add_period(parser)
    parser.add_argument(
        "--published",
        action="store_true",
        help="for readers beyond the unit's own coordinator: no codes, small groups hidden",
    )
    add_store(parser)
    add_scenario_folders(parser)
    add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Write the files and say where they are."""
    until = args.until or datetime.now().astimezone().date()
    if args.since and args.since > until:
        last = f"--to {until}" if args.until else f"today, {until}"
        print(f"simengine cohort: --from {args.since} comes after {last}", file=sys.stderr)
        return 2
    with open_store(args) as store:
        material = _material(store, args, until)
    number = len(material.learning)
    if number < FEW:
        print(
            f"Few sessions count here: {number}. Most differences can't be told from chance.",
            file=sys.stderr,
        )
    from simengine.cohort_report import write_cohort

    files = write_cohort(material, args.output)
    print(files.html)
    print(files.pdf)
    if not args.published:
        print(
            "It contains trainee codes and is for the coordinator alone; for anybody else write it "
            "with --published.",
            file=sys.stderr,
        )
    return 0


def _material(store: Store, args: argparse.Namespace, until: date) -> Material:
    """Return what the report is made of. Raises ``InputError`` where there is nothing to tell."""
    from simengine.cohort_report.build_report import ALL_UNITS
    from simengine.nearest_name import name_hint
    from simengine.people.whereabouts import unit_of_roster
    from simengine.problems import InputError, Problem
    from simengine.store.report_material import first_day, material_of, units_of

    score_waiting(store, args)
    units = units_of(store)
    unit = None if args.unit is None else unit_of_roster(args.unit, units)
    if unit is None and args.unit is not None:
        raise InputError(
            [
                Problem(
                    "--unit", 0, 0, "", "a unit that has sessions or people", f"'{args.unit}'",
                    "unknown-unit", hint=name_hint(args.unit, units),
                )
            ]
        )  # fmt: skip
    since = args.since or min(first_day(store) or until, until)
    material = material_of(
        store,
        title=unit or ALL_UNITS,
        unit=unit,
        since=since,
        until=until,
        today=until,
        published=args.published,
    )
    if not material.results and not material.asked:
        raise InputError([Problem(store.where, 0, 0, "", *_nothing(store, since, until))])
    return material


def _nothing(store: Store, since: date, until: date) -> tuple[str, str, str]:
    from simengine.store.report_material import first_day

    if first_day(store) is None:
        return (
            "at least one session with a result (simengine import brings them in, and so does "
            "every session that the console runs)",
            "none",
            "no-sessions",
        )
    return (f"at least one session from {since} to {until}", "none", "no-sessions")
