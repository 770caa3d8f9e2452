"""`simengine erase`: forget one person, or take words out of some sessions afterwards."""

from __future__ import annotations

import argparse
import shutil
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.cli.stored import add_store, open_store
from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS

if TYPE_CHECKING:
    from simengine.store.erase import Erased


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "erase",
        VERBS["erase"],
        "simengine erase n4tq8wzk --dry-run\n  simengine erase --words Anna --in SESSION",
        run,
    )
    parser.add_argument("trainee", metavar="TRAINEE", nargs="?", help="the person's code")
    add_store(parser)
    parser.add_argument(
        "--also",
        metavar="NAME",
        action="append",
        default=[],
        help="another name of the person that goes too, such as a nickname; may be repeated",
    )
    parser.add_argument(
        "--words",
        metavar="WORDS",
        action="append",
        default=[],
        help="in place of a person: a first name, surname or nickname that was listed and is to go "
        "too; may be repeated",
    )
    parser.add_argument(
        "--in",
        dest="sessions",
        metavar="SESSION",
        action="append",
        default=[],
        help="the session in which the words are to go; may be repeated",
    )
    parser.add_argument(
        "--dry-run", action="store_true", help="say what would be done, and do nothing"
    )
    parser.add_argument(
        "--yes", action="store_true", help="do it without asking; it can't be undone"
    )


def run(args: argparse.Namespace) -> int:
    """Say what goes, ask, and do it."""
    from datetime import UTC, datetime

    from simengine.store.erase import erase

    wall = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    code = args.trainee
    if bool(code) == bool(args.words) or bool(args.words) != bool(args.sessions):
        print(
            "simengine erase: name a person's code, or --words with each session --in which they "
            "are to go",
            file=sys.stderr,
        )
        return 2
    if args.words:
        return _run_words(args, wall)
    with open_store(args, alone=not args.dry_run) as store:
        planned = erase(store, code, wall=wall, also=args.also, dry_run=True)
        for line in told(planned):
            print(line, file=sys.stderr)
        if args.dry_run:
            print("Nothing was done: this was a dry run.", file=sys.stderr)
            return 0
        if not args.yes and not agreed(code, "the code"):
            return 1
        erase(store, code, wall=wall, also=args.also)
        folder = store.place.folder
    elsewhere = list(clear_folder(folder, planned.sessions, (code, *planned.names)))
    print(
        f"{code} is erased. What is in backups, exports and printed debriefs is not. Take the "
        "person out of your own tables too: an import would bring them back."
    )
    for file in elsewhere:
        print(f"This file still names the person; remove it by hand: {file}", file=sys.stderr)
    return 1 if elsewhere else 0


def told(asked: Erased) -> Iterator[str]:
    """Say in a few lines what erasing means here."""
    from simengine.quantities.formatting import count

    rows = ", ".join(f"{number} {what}" for what, number in asked.removed.items())
    yield f"Removed: {rows}."
    yield (
        f"Taken out of: {count(asked.events, 'entry', 'entries')} in "
        f"{count(len(asked.sessions), 'session log')}, sealed anew, and "
        f"{count(asked.texts, 'other text')}. All scores stay as they are."
    )
    if asked.signatures:
        yield (
            f"{count(asked.signatures, 'signature loses', 'signatures lose')} the name of who "
            "signed. Have those outcomes countersigned first if somebody has to answer for them."
        )
    for text in asked.left:
        yield (
            f"This may be the same person, and is left as it is: session {text.session}, line "
            f"{text.seq + 1}: “{text.words}”"
        )
    if asked.left:
        yield (
            "To take it out too, add --also NAME now, or later: simengine erase --words NAME --in "
            "SESSION"
        )


def _run_words(args: argparse.Namespace, wall: str) -> int:
    """Say which texts lose the words, ask, and do it."""
    from simengine.quantities.formatting import count
    from simengine.store.erase_words import erase_words

    with open_store(args, alone=not args.dry_run) as store:
        trial = erase_words(store, args.words, args.sessions, wall=wall, dry_run=True)
        for text in trial.found:
            print(
                f"Will read: session {text.session}, line {text.seq + 1}: “{text.words}”",
                file=sys.stderr,
            )
        print(
            f"{count(len(trial.found), 'entry', 'entries')} in "
            f"{count(len(trial.sessions), 'session log')} and {count(trial.texts, 'other text')}.",
            file=sys.stderr,
        )
        if args.dry_run or not (trial.found or trial.texts):
            print("Nothing was done.", file=sys.stderr)
            return 0
        if not args.yes and not agreed(args.words[0], "the first of the words"):
            return 1
        erase_words(store, args.words, args.sessions, wall=wall)
        folder = store.place.folder
    elsewhere = list(clear_folder(folder, trial.sessions, args.words))
    print("The words are gone from these sessions. They are still in backups and exports.")
    for file in elsewhere:
        print(f"This file still holds one of the words; check whether it means this person: {file}")
    return 0


def clear_folder(
    folder: Path | None, sessions: Sequence[str], words: Sequence[str]
) -> Iterator[Path]:
    """Remove the debriefs of these sessions; yield other files that hold one of the words.

    The store's own file holds them no more but in the names of others.
    """
    from simengine.store.data_folder import DEBRIEFS
    from simengine.store.place import FILE

    if folder is None:
        return
    for session in sessions:
        shutil.rmtree(folder / DEBRIEFS / session, ignore_errors=True)
    wanted = [word.encode() for word in words if word]
    for file in sorted(folder.rglob("*")):
        if file.is_file() and not file.name.startswith(FILE):
            content = file.read_bytes()
            if any(word in content for word in wanted):
                yield file


def agreed(word: str, what: str) -> bool:
    """Ask a person at the terminal to type ``word``; elsewhere, say that ``--yes`` is needed."""
    if not sys.stdin.isatty():
        print("Nothing was done. Add --yes to do it without being asked.", file=sys.stderr)
        return False
    print(f"This can't be undone. Type {what} ({word}) to go on: ", end="", file=sys.stderr)
    if input().strip() == word:
        return True
    print("Nothing was done.", file=sys.stderr)
    return False
