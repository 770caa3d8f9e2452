"""`simengine store`: back the store up, restore it, move it elsewhere, check it."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.cli.retention import add_retention, run_retention
from simengine.cli.stored import add_store, in_a_sentence, open_store, where_of
from simengine.cli.verb import Run, Verbs, verb
from simengine.cli.verbs import VERBS

if TYPE_CHECKING:
    from simengine.store.checking import Checked

_PASSWORD = "A password is best kept out of the address, in the file ~/.pgpass or in PGPASSWORD."


def register(verbs: Verbs) -> None:
    """Add the verb and its tasks."""
    parser = verb(
        verbs,
        "store",
        VERBS["store"],
        "simengine store backup ~/backups/today.sqlite",
        _no_task,
    )
    tasks = parser.add_subparsers(dest="task", metavar="TASK", required=True)
    backup = _task(
        tasks,
        "backup",
        "write all of the store into one file, while it is in use",
        "simengine store backup ~/backups/today.sqlite",
        run_backup,
    )
    backup.add_argument("file", metavar="FILE", type=Path, help="the file to write")
    backup.add_argument("--replace", action="store_true", help="replace the file if it is there")
    restore = _task(
        tasks,
        "restore",
        "check a backup and put it where the store is to be",
        "simengine store restore ~/backups/today.sqlite --data ~/mock-resuscitations",
        run_restore,
    )
    restore.add_argument("file", metavar="FILE", type=Path, help="a backup")
    restore.add_argument(
        "--replace",
        action="store_true",
        help="replace the store that is there, which is then kept in a file",
    )
    move = _task(
        tasks,
        "move",
        "copy the store into an empty place in another folder or database",
        "simengine store move postgresql://simengine@db.example/simengine",
        run_move,
    )
    move.add_argument(
        "to",
        metavar="FOLDER_OR_ADDRESS",
        help=f"where to: a folder, or a PostgreSQL database's address. {_PASSWORD}",
    )
    add_retention(
        _task(
            tasks,
            "retention",
            "erase people who left, and logs older than they are to be kept",
            "simengine store retention --people 24 --sessions 120 --dry-run",
            run_retention,
        )
    )
    unit = _task(
        tasks,
        "unit",
        "correct where a session was held",
        "simengine store unit 0d6c8c58-6a0e-4f7c-9b0c-3f1f0f3b7a11 'birth centre north'",
        run_unit,
    )
    unit.add_argument("session", metavar="SESSION", help="the session's id")
    unit.add_argument("unit", metavar="UNIT", help="a unit of the roster")
    unit.add_argument("--new-unit", action="store_true", help="it is new, not yet on the roster")
    check = _task(
        tasks,
        "check",
        "check the hash chain of every session in the store, or in a backup",
        "simengine store check ~/backups/today.sqlite",
        run_check,
    )
    check.add_argument(
        "file", metavar="FILE", type=Path, nargs="?", help="a backup (default: the store itself)"
    )


def _task(tasks: Verbs, name: str, says: str, example: str, run: Run) -> argparse.ArgumentParser:
    parser = verb(tasks, name, says, example, run)
    add_store(parser)
    return parser


def _no_task(_: argparse.Namespace) -> int:
    raise AssertionError("a task is required")


def run_backup(args: argparse.Namespace) -> int:
    """Write a backup."""
    from simengine.cli.progress import progress
    from simengine.store.backup import backup

    with open_store(args) as store, progress("Backing up") as on_progress:
        backup(store, args.file, replace=args.replace, on_progress=on_progress)
        print(f"Backed up {store.where} to {args.file}.")
    print(f"To check it: simengine store check {args.file}", file=sys.stderr)
    return 0


def run_unit(args: argparse.Namespace) -> int:
    """Set a session's unit."""
    from simengine.people.whereabouts import unit_of_roster, unknown_unit
    from simengine.problems import InputError
    from simengine.store.people import roster
    from simengine.store.session_units import put_unit

    with open_store(args) as store:
        units = {stay.unit for trainee in roster(store).trainees for stay in trainee.postings}
        unit = unit_of_roster(args.unit, units)
        if unit is None and not args.new_unit:
            hint = "or say --new-unit if it is new"
            raise InputError([unknown_unit("UNIT", args.unit, units, hint)])
        before = put_unit(store, args.session, unit or args.unit)
    print(f"Session {args.session}: {before or 'no unit'} is now {unit or args.unit}.")
    return 0


def run_restore(args: argparse.Namespace) -> int:
    """Restore a backup."""
    from simengine.cli.progress import progress
    from simengine.store.backup import restore
    from simengine.store.place import place_of

    with in_a_sentence(args):
        with progress("Restoring") as on_progress:
            kept = restore(where_of(args), args.file, replace=args.replace, on_progress=on_progress)
        print(f"Restored {args.file} to {place_of(where_of(args)).words}.")
        if kept is not None:
            print(f"What was there before is kept in {kept}.")
    return 0


def run_move(args: argparse.Namespace) -> int:
    """Move the store."""
    from simengine.cli.progress import progress
    from simengine.store.moving import move
    from simengine.store.place import place_of

    with open_store(args) as store:
        here = store.where
    with in_a_sentence(args):
        with progress("Moving") as on_progress:
            moved = move(where_of(args), args.to, on_progress)
        place = place_of(args.to)
        print(f"Copied {_counted(moved)} to {place.words}; every chain is whole.")
        print(
            f"{here} stays as it was. From now on: simengine console --data {place.words}",
            file=sys.stderr,
        )
    return 0


def run_check(args: argparse.Namespace) -> int:
    """Check every chain."""
    from simengine.cli.progress import progress
    from simengine.store.backup import check_backup
    from simengine.store.checking import check

    if args.file is not None:
        with in_a_sentence(args), progress("Checking") as on_progress:
            where = str(args.file)
            checked = check_backup(args.file, on_progress)
    else:
        with open_store(args) as store, progress("Checking") as on_progress:
            where = store.where
            with store.reading() as connection:
                checked = check(connection, on_progress)
    for words in checked.problems:
        print(f"{where}: {words}")
    if checked.problems:
        print(
            "A session that was changed is shown read-only and takes no entries. To go back to a "
            "backup: simengine store restore BACKUP --replace (what is here now is kept in a "
            "file).",
            file=sys.stderr,
        )
        return 1
    print(f"{where}: {_counted(checked)}; every chain is whole.")
    return 0


def _counted(checked: Checked) -> str:
    return f"{checked.sessions:,} sessions with {checked.events:,} entries"
