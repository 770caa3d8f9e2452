"""Import a roster: say what changes, keep it, and show the codes that were made.

Rules of this file:

- A dry run does all that an import does but keep it, and makes no codes that anybody could note.
- Codes that the program made are shown on standard output as CSV beside the names, so that they
  can be handed out; the store has them from then on.
"""

from __future__ import annotations

import argparse
import csv
import sys
from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.cli.stored import open_store, scenario_folders, there_is_a_store

if TYPE_CHECKING:
    from simengine.people.read_roster import RosterRead

_ORDERS = ("day-first", "month-first")  # as simengine.people.days has them


def add_roster(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that a roster alone has."""
    parser.add_argument(
        "--dates",
        choices=_ORDERS,
        help="how days such as 01/03/2026 read, where the files do not tell it themselves",
    )


def import_roster(args: argparse.Namespace, files: Sequence[Path]) -> int:
    """Read the files, say what comes of them and keep it unless it is a dry run."""
    from simengine.people.read_roster import read_roster
    from simengine.people.roster import Roster
    from simengine.store.people import codes_used, roster, save_roster

    known, used = Roster(), frozenset[str]()
    if there_is_a_store(args):
        with open_store(args) as store:
            known, used = roster(store), codes_used(store)
    read = read_roster(
        files,
        known=known,
        scenarios=ScenarioRoles(scenario_folders(args)),
        order=args.dates,
        used=used,
    )
    if not args.dry_run:
        with open_store(args, new=True) as store:
            save_roster(store, read.roster, known=known)
    for warning in read.warnings:
        print(warning, file=sys.stderr)
    for line in summary(read, dry=args.dry_run):
        print(line, file=sys.stderr)
    if read.made and not args.dry_run:
        out = csv.writer(sys.stdout, lineterminator="\n")
        out.writerow(("code", "name", "unit"))
        out.writerows(
            (trainee.code, trainee.name, trainee.postings[-1].unit) for trainee in read.made
        )
    return 0


def summary(found: RosterRead, *, dry: bool) -> Iterator[str]:
    """Say in a few lines what files make of the roster."""
    rows = ", ".join(f"{number} of {kind}" for kind, number in found.rows.items()) or "none"
    yield f"Rows read: {rows}."
    yield from found.understood()
    whole = found.roster
    others = len(whole.trainees) - len(found.new) - len(found.changed)
    yield (
        f"People: {len(found.new)} new, {len(found.changed)} changed, {others} unchanged; "
        f"{len(whole.requirements)} requirements, {len(whole.leaves)} leaves, "
        f"{len(whole.certificates)} certificates in all."
    )
    if whole.attendances:
        yield f"Attendances: {len(whole.attendances)} {'would be ' if dry else ''}added or changed."
    for need in found.dropped:
        yield f"No longer required: {need.id} ({need.title}), which the file leaves out."
    if found.made:
        then = "would be made" if dry else "hand them out"
        yield f"New codes: {len(found.made)}; {then}."
    if dry:
        yield "Nothing was kept: this was a dry run. Leave out --dry-run to import."


class ScenarioRoles(Mapping[str, Collection[str]]):
    """The scenarios in ``folders`` and the shipped ones, each with its roles.

    A scenario is read when its roles are asked for, since few are.
    """

    def __init__(self, folders: Sequence[Path]) -> None:
        self._folders = folders
        self._ids: list[str] | None = None

    def __getitem__(self, name: str) -> Collection[str]:
        """Return the roles of a scenario; none where the scenario itself is broken."""
        from simengine.problems import InputError
        from simengine.scenario import find_scenario, load_scenario

        file = find_scenario(name, self._folders)
        if file is None:
            raise KeyError(name)
        try:
            return tuple(load_scenario(file, search=self._folders).roles)
        except InputError:
            return ()

    def __contains__(self, name: object) -> bool:
        """Whether there is such a scenario."""
        return name in self._known()

    def __iter__(self) -> Iterator[str]:
        """Return the ids."""
        return iter(self._known())

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self._known())

    def _known(self) -> list[str]:
        from simengine.scenario import scenario_ids

        if self._ids is None:
            self._ids = scenario_ids(self._folders)
        return self._ids
