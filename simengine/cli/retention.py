"""`simengine store retention`: let go of what is older than it is to be kept.

Rules of this file:

- What is asked here is kept as the setting for the next time, unless it is a dry run.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

from simengine.cli.erase import agreed, clear_folder
from simengine.cli.stored import open_store

if TYPE_CHECKING:
    from simengine.store.retention import LetGo

_MOST = 600


def add_retention(parser: argparse.ArgumentParser) -> None:
    """Add what is asked."""
    for name, what in (
        ("--people", "a person's record after their last day"),
        ("--sessions", "a session's log; its anonymous figures stay"),
    ):
        parser.add_argument(
            name,
            type=_months,
            metavar="MONTHS",
            help=f"how long to keep {what} (default: as set before, else for good)",
        )
    parser.add_argument(
        "--dry-run", action="store_true", help="say what would be erased, and erase nothing"
    )
    parser.add_argument(
        "--yes", action="store_true", help="do it without asking; it can't be undone"
    )


def _months(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= _MOST:
        raise argparse.ArgumentTypeError(f"whole months from 1 to {_MOST}, not {text!r}")
    return int(text)


def run_retention(args: argparse.Namespace) -> int:
    """Say what goes, ask, and let go of it."""
    from datetime import UTC, datetime

    from simengine.store.retention import let_go
    from simengine.store.settings import RETENTION_MONTHS, SESSION_MONTHS, set_setting, setting

    now = datetime.now(UTC)
    wall = now.strftime("%Y-%m-%dT%H:%M:%SZ")
    with open_store(args, alone=not args.dry_run) as store:
        people = args.people or setting(store, RETENTION_MONTHS)
        sessions = args.sessions or setting(store, SESSION_MONTHS)
        if people is None and sessions is None:
            print("Everything is kept until somebody erases it; a limit: --people or --sessions.")
            return 0

        def asked(*, dry_run: bool) -> LetGo:
            return let_go(
                store,
                now.date(),
                people_months=people,
                session_months=sessions,
                wall=wall,
                dry_run=dry_run,
            )

        would = asked(dry_run=True)
        for line in told(would):
            print(line, file=sys.stderr)
        if args.dry_run:
            print("Nothing was done: this was a dry run.", file=sys.stderr)
            return 0
        if not args.yes and not agreed("let go", "these words"):
            return 1
        done = asked(dry_run=False)
        set_setting(store, RETENTION_MONTHS, people)
        set_setting(store, SESSION_MONTHS, sessions)
        folder = store.place.folder
    codes = [code for code, _ in done.people]
    elsewhere = list(clear_folder(folder, (*done.logs, *done.rehearsals), codes))
    print("Done. Backups, exports and printed debriefs are not touched.")
    for file in elsewhere:
        print(f"This file still names somebody; remove it by hand: {file}", file=sys.stderr)
    return 1 if elsewhere else 0


def told(would: LetGo) -> Iterator[str]:
    """Say in a few lines what goes."""
    for code, last in would.people:
        yield f"Person to erase: {code}, whose last day was {last}."
    yield (
        f"Logs to erase, with their score cards: {len(would.logs)} (their anonymous results stay). "
        f"Rehearsals to erase altogether: {len(would.rehearsals)}."
    )
    if would.kept:
        yield (
            f"Assessments kept for their signed outcome: {len(would.kept)}, since somebody who "
            "took part is still on the roster."
        )
    yield (
        f"Entries of the access log to erase: {would.readings}; planned sessions that were never "
        f"opened: {would.planned}."
    )
