"""Read a roster from CSV files: everything or nothing, with all problems at once.

Rules of this file:

- Files may come in any order; trainees are read before what speaks of them.
- Nothing is taken over if any row is wrong. Nothing is written here: what comes of the files is a
  value, so that a dry run is the same code.
- People, stays, leaves, certificates and attendances are added or replace what has the same key.
  Requirements are a short list, so a file of them is the whole list: what it does not name is
  asked no more.
"""

from __future__ import annotations

import secrets
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from simengine.people.codes import Choose, new_code
from simengine.people.csv_table import Table, read_table
from simengine.people.days import Order
from simengine.people.gathered import gathered
from simengine.people.roster import Requirement, Roster, Trainee
from simengine.people.roster_needs import (
    Scenarios,
    attendance,
    certificate,
    leave,
    requirement,
)
from simengine.people.roster_people import People
from simengine.people.roster_rows import (
    ReadAs,
    Reader,
    kind_of,
    lines_of,
    order_of,
    with_known_headings,
)
from simengine.people.roster_tables import Kind
from simengine.problems import InputError, Problem
from simengine.quantities.formatting import listed

SUFFIXES = (".csv", ".tsv", ".txt")


@dataclass(frozen=True, slots=True)
class RosterRead:
    """What files make of a roster.

    ``roster``: the whole of it, with what was known before. ``rows``: how many rows of each kind.
    ``new``, ``changed``: codes of people. ``made``: people whose code was made here.
    ``dropped``: requirements that are asked no more.
    """

    roster: Roster
    rows: dict[Kind, int]
    new: tuple[str, ...]
    changed: tuple[str, ...]
    made: tuple[Trainee, ...]
    dropped: tuple[Requirement, ...]
    warnings: tuple[Problem, ...]
    read_as: tuple[ReadAs, ...] = ()
    """Headings that were read as other columns."""
    merged: tuple[tuple[str, str], ...] = ()
    """(as a row has it, as it is spelt): units, professions and codes that differ in case."""

    def understood(self) -> tuple[str, ...]:
        """Return in words what was read as something else than it says."""
        files: dict[str, list[str]] = {}
        for known in self.read_as:
            files.setdefault(known.file, []).append(f"“{known.heading}” as {known.column}")
        lines = [f"{Path(file).name}: read {listed(some)}." for file, some in files.items()]
        for name, spelt in self.merged:
            lines.append(f"“{name}” was read as “{spelt}”, which differs in case or blanks alone.")
        return tuple(lines)


def read_roster(
    paths: Iterable[Path],
    *,
    known: Roster | None = None,
    scenarios: Scenarios | None = None,
    order: Order | None = None,
    used: Collection[str] = (),
    choose: Choose = secrets.choice,
) -> RosterRead:
    """Return what files or folders of files make of the roster ``known``.

    ``scenarios``: id → roles of those that there are, where requirements shall be held against
    them. ``order``: how days with slashes read. ``used``: codes in session logs, which are never
    made anew. Raises ``InputError`` with every problem.
    """
    known = known or Roster()
    problems: list[Problem] = []
    table_files = files_of(paths, problems)
    read_as: list[ReadAs] = []
    tables = _tables(table_files, problems, read_as)
    codes = {trainee.code for trainee in known.trainees} | set(used)
    codes |= {row.cells.get("code", "") for _, table in tables for row in table.rows}

    def make_code() -> str:
        code = new_code(codes, choose)
        codes.add(code)
        return code

    files = _Files(tables, order, problems)
    people = People(
        known.trainees, used, make_code, problems, partial=len(tables) < len(table_files)
    )
    for reader in files.rows("trainees"):
        people.trainee(reader)
    for reader in files.rows("postings"):
        people.posting(reader)
    requirements = {known_one.id: known_one for known_one in known.requirements}
    if files.has("requirements"):
        requirements = {}
        for reader in files.rows("requirements"):
            need = requirement(reader, people, scenarios, problems)
            files.once(reader, "requirement", need.id)
            requirements[need.id] = need
    leaves = {(absence.code, absence.since): absence for absence in known.leaves}
    for reader in files.rows("leaves"):
        away = leave(reader, people)
        files.once(reader, "since", away.code, away.since)
        leaves[away.code, away.since] = away
    proofs = {
        (known_proof.code, known_proof.requirement, known_proof.issued): known_proof
        for known_proof in known.certificates
    }
    for reader in files.rows("certificates"):
        proof = certificate(reader, people, requirements)
        files.once(reader, "issued", proof.code, proof.requirement, proof.issued)
        proofs[proof.code, proof.requirement, proof.issued] = proof
    attended = {}
    for reader in files.rows("attendances"):
        there = attendance(reader, people)
        files.once(reader, "attended", there.code, there.day, there.title)
        attended[there.code, there.day, there.title] = there
    trainees = people.trainees()
    problems = sorted((*gathered(problems), *people.near_twins()))  # each twin is its own question
    if any(problem.level == "error" for problem in problems):
        raise InputError(problems)
    made = set(people.made)
    return RosterRead(
        Roster(
            trainees,
            tuple(requirements.values()),
            tuple(leaves.values()),
            tuple(proofs.values()),
            tuple(attended.values()),
        ),
        files.counts,
        tuple(trainee.code for trainee in trainees if trainee.code not in people.known),
        tuple(
            trainee.code
            for trainee in trainees
            if people.known.get(trainee.code, trainee) != trainee
        ),
        tuple(trainee for trainee in trainees if trainee.code in made),
        tuple(dropped for dropped in known.requirements if dropped.id not in requirements),
        tuple(problems),
        tuple(read_as),
        tuple(
            pair
            for names in (people.unit_names, people.profession_names, people.codes)
            for pair in names.merged.items()
        ),
    )


def files_of(paths: Iterable[Path], problems: list[Problem]) -> list[Path]:
    """Return the files that are meant: a folder stands for the tables in it."""
    out = []
    for path in paths:
        if path.is_dir():
            every = sorted(entry for entry in path.iterdir() if not entry.name.startswith("."))
            inside = [
                entry for entry in every if entry.suffix.lower() in SUFFIXES and entry.is_file()
            ]
            problems += [
                Problem(
                    str(entry), 0, 0, "", f"files that end with {', '.join(SUFFIXES)}",
                    "a folder" if entry.is_dir() else "another file", "not-read", "warning",
                    hint="it was not read; from a spreadsheet program, save as CSV",
                )
                for entry in every
                if entry not in inside
            ]  # fmt: skip
            if not inside:
                expected = f"files that end with {', '.join(SUFFIXES)} in this folder"
                problems.append(Problem(str(path), 0, 0, "", expected, "none", "no-table"))
            out += inside
        elif not path.exists():
            problems.append(
                Problem(str(path), 0, 0, "", "a CSV file", "no such file", "file-missing")
            )
        else:
            out.append(path)
    return list(dict.fromkeys(out))


def _tables(
    files: Sequence[Path], problems: list[Problem], read_as: list[ReadAs]
) -> list[tuple[Kind, Table]]:
    out = []
    for file in files:
        table = read_table(file, problems)
        if table is None:
            continue
        table = with_known_headings(table, read_as)
        kind = kind_of(table, problems)
        if kind is not None:
            out.append((kind, table))
    return out


class _Files:
    """The tables by kind. ``counts``: how many rows of each kind were read."""

    def __init__(
        self, tables: Sequence[tuple[Kind, Table]], order: Order | None, problems: list[Problem]
    ) -> None:
        self.counts: dict[Kind, int] = {}
        self._tables = tables
        self._order = order
        self._problems = problems
        self._seen: dict[tuple[object, ...], str] = {}

    def has(self, kind: Kind) -> bool:
        """Whether there is a file of this kind."""
        return any(its == kind for its, _ in self._tables)

    def rows(self, kind: Kind) -> Iterable[Reader]:
        """Return the rows of a kind, one after the other."""
        for its, table in self._tables:
            if its == kind:
                order = order_of(table, self._order, self._problems)
                for line in lines_of(table):
                    self.counts[kind] = self.counts.get(kind, 0) + 1
                    yield Reader(kind, line, order, self._problems)

    def once(self, reader: Reader, column: str, *key: object) -> None:
        """Complain where the files tell the same thing twice."""
        line = reader.line
        where = f"line {line.row.line} of {line.file}"
        first = self._seen.setdefault((column, *key), where)
        if not reader.wrong and first != where:
            reader.say(column, "each row once", hint=f"the same stands in {first}")
