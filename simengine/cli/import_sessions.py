"""Import session logs and bundles: check each, keep it, and score what has no score yet."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.cli.scoring import score_these
from simengine.cli.stored import open_store, scenario_folders, there_is_a_store

if TYPE_CHECKING:
    from simengine.exchange.incoming import Incoming
    from simengine.store import Store


def add_sessions(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that sessions alone have."""
    parser.add_argument("--unit", help="where the sessions were held: a unit of the roster")
    parser.add_argument(
        "--new-unit", action="store_true", help="the unit is a new one, not yet on the roster"
    )
    parser.add_argument(
        "--no-scores",
        action="store_true",
        help="keep sessions without scoring them; simengine rescore does that later",
    )


def import_sessions(args: argparse.Namespace, logs: Sequence[Path], bundles: Sequence[Path]) -> int:
    """Take the files in, each by itself, and say what came of them."""
    if args.dry_run and not there_is_a_store(args):
        incoming = _take(None, args, logs, bundles)
    else:
        with open_store(args, new=True) as store:
            incoming = _take(store, args, logs, bundles)
            if not (args.dry_run or args.no_scores):
                score_these(store, _unscored(store, incoming), args)
    for problem in incoming.problems:
        print(problem, file=sys.stderr)
    for missing, logs_of_it in incoming.unchecked.items():
        print(
            f"{logs_of_it:,} with whole chains, but automatic steps can't be checked, and scores "
            f"are under what is here: {missing} is missing (name its folder with --scenarios)",
            file=sys.stderr,
        )
    for session, file in incoming.new:
        print(f"{session}  {file}")
    refused = len(logs) + len(bundles) - len(incoming.new) - len(incoming.known)
    print(
        f"Sessions: {len(incoming.new):,} {'would be ' if args.dry_run else ''}imported, "
        f"{len(incoming.known):,} were here already, {refused:,} refused.",
        file=sys.stderr,
    )
    return 1 if incoming.refused else 0


def _unscored(store: Store, incoming: Incoming) -> list[str]:
    """Return what is new, and what an import that was stopped had kept and not scored."""
    missing = set(store.without_result())
    known = (session for session, _ in incoming.known if session in missing)
    return list(dict.fromkeys((*incoming.unscored, *known)))


def _take(
    store: Store | None, args: argparse.Namespace, logs: Sequence[Path], bundles: Sequence[Path]
) -> Incoming:
    from simengine.cli.progress import progress
    from simengine.exchange.incoming import Intake
    from simengine.people.roster import Roster
    from simengine.people.whereabouts import unit_of_roster, unknown_unit
    from simengine.problems import InputError
    from simengine.store.people import roster

    known = roster(store) if store is not None else Roster()
    units = {stay.unit for trainee in known.trainees for stay in trainee.postings}
    unit = args.unit
    if unit is not None:
        unit = unit_of_roster(unit, units)
        if unit is None and not args.new_unit:
            hint = "or say --new-unit if it is new"
            raise InputError([unknown_unit("--unit", args.unit, units, hint)])
    codes = frozenset(trainee.code for trainee in known.trainees)
    folders = scenario_folders(args)
    intake = Intake(store, folders, unit or args.unit, args.dry_run, units, codes)
    files = [*((file, False) for file in logs), *((file, True) for file in bundles)]
    with progress("Sessions read") as on_progress:
        for number, (file, bundle) in enumerate(files, start=1):
            intake.take(file, bundle=bundle)
            on_progress(number, len(files))
        intake.finish()
    return intake.incoming
