"""Trainees and postings from roster files, joined with those that are known already.

Rules of this file:

- A person is known by the code; where a row has none, by the name, if one person alone has it.
  A new person without a code gets one.
- A row of trainees is a person and one stay on a unit. Several rows with one code are one person
  who moved: they agree in name and profession.
- A stay without an end ends the day before the person's next one begins. What a file says of a
  person's stays replaces what was known from the first of these days on; earlier stays are kept.
- Nobody is removed because a file does not name them, and what a file has no column for stays.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import pairwise

from simengine.people.codes import is_code
from simengine.people.roster import Posting, Trainee
from simengine.people.roster_rows import Line, Reader, quoted
from simengine.problems import Problem
from simengine.scenario.place import nearest

MakeCode = Callable[[], str]


@dataclass(slots=True)
class _Person:
    """One person while the files are read. ``first``: the row that told of the person."""

    code: str
    profession: str
    name: str
    left: date | None
    first: Line
    stays: list[tuple[Posting, Line]] = field(default_factory=list)


class People:
    """Everybody known so far, and everybody that the files bring."""

    def __init__(
        self,
        known: Iterable[Trainee],
        used: Collection[str],
        make_code: MakeCode,
        problems: list[Problem],
        *,
        partial: bool = False,
    ) -> None:
        """``used``: codes in session logs, which are good as they stand. ``partial``: some file
        could not be read, so who is missing may stand in it.
        """
        self.known = {trainee.code: trainee for trainee in known}
        self.made: list[str] = []
        self._used = {*self.known, *used}
        self._make_code = make_code
        self._partial = partial
        self._problems = problems
        self._read: dict[str, _Person] = {}
        self._moves: dict[str, list[tuple[Posting, Line]]] = {}
        self._named: dict[str, list[str]] = {}
        self._nameless: dict[str, Line] = {}
        self._told: set[str] = set()  # codes and names of rows that were wrong
        for trainee in self.known.values():
            self._name(trainee.name, trainee.code)

    # --- reading ------------------------------------------------------------------------------

    def trainee(self, reader: Reader) -> None:
        """Take in a row of a trainees file."""
        line = reader.line
        name = reader.words("name")
        profession = reader.words("profession")
        stay = self._stay(reader)
        left = reader.until("left", stay.since)
        code = line.text("code")
        if not code and not name:
            reader.say("code" if "code" in line.headings else "name", "a code or a name")
        elif code and not is_code(code) and code not in self._used:
            reader.say(
                "code",
                "a code of 4 to 16 letters, digits, - or _ with at least one letter",
                hint="leave the cell empty and the program makes one",
            )
        if not reader.wrong and not code:
            code = self._code_of_new(reader, name)
        if reader.wrong or not code:
            self._told |= {line.text("code"), _key(name)}
            return
        person = self._read.get(code)
        if person is None:
            person = _Person(code, profession, name, left, line)
            self._read[code] = person
            self._name(name, code)
        else:
            self._agrees(reader, person, name, profession, left)
        person.stays.append((stay, line))

    def posting(self, reader: Reader) -> None:
        """Take in a row of a postings file."""
        code = self.code(reader)
        stay = self._stay(reader)
        if not reader.wrong:
            self._moves.setdefault(code, []).append((stay, reader.line))

    def code(self, reader: Reader) -> str:
        """Return whom a row is about; the trainees files have been read by then."""
        code, name = reader.line.text("code"), reader.line.text("name")
        found = self._named.get(_key(name), [])
        if self._partial or {code, _key(name)} & self._told - {""}:
            reader.wrong = True  # told already, where the person should have come from
            return ""
        if code:
            if code not in self.known and code not in self._read:
                hint = _near(code, {*self.known, *self._read})
                reader.say("code", "the code of somebody in the roster", hint=hint)
            return code
        if not name:
            column = "code" if "code" in reader.line.headings else "name"
            reader.say(column, "a code or a name of somebody in the roster")
        elif len(found) > 1:
            hint = f"{len(found)} people have this name"
            reader.say("name", "the code of the person", hint=hint)
        elif not found:
            names = [person.name for person in self._read.values() if person.name]
            names += [trainee.name for trainee in self.known.values() if trainee.name]
            reader.say("name", "the name of somebody in the roster", hint=_near(name, names))
        return found[0] if found else ""

    # --- what comes of it -----------------------------------------------------------------------

    def units(self) -> set[str]:
        """Return every unit that somebody works or worked on."""
        stays = [stay for trainee in self.known.values() for stay in trainee.postings]
        stays += [stay for person in self._read.values() for stay, _ in person.stays]
        stays += [stay for moves in self._moves.values() for stay, _ in moves]
        return {stay.unit for stay in stays}

    def professions(self) -> set[str]:
        """Return every profession that somebody has."""
        known = {trainee.profession for trainee in self.known.values()}
        return known | {person.profession for person in self._read.values()}

    def trainees(self) -> tuple[Trainee, ...]:
        """Return everybody, those known before first; complaints about their stays are noted."""
        out = dict(self.known)
        for code, person in self._read.items():
            before = out.get(code)
            left = person.left
            if before and "left" not in person.first.headings:
                left = before.left
            out[code] = Trainee(
                code,
                person.profession,
                before.postings if before else (),
                person.name or (before.name if before else ""),
                left,
            )
        for code, trainee in out.items():
            read = self._read.get(code)
            new = [*(read.stays if read else ()), *self._moves.get(code, ())]
            if new:
                postings = self._joined(trainee.postings, new)
                out[code] = replace(trainee, postings=postings)
        return tuple(out.values())

    def _stay(self, reader: Reader) -> Posting:
        unit = reader.words("unit")
        since = reader.needed_day("since")
        return Posting(unit, since, reader.until("until", since))

    def _code_of_new(self, reader: Reader, name: str) -> str:
        """Return the code of a person whose row has a name alone."""
        key = _key(name)
        before = self._nameless.get(key)
        if before is not None:
            reader.say(
                "name",
                "a code in both rows, the same for one person who moved",
                f"{quoted(name)} a second time (line {before.row.line} of {before.file})",
            )
            return ""
        self._nameless[key] = reader.line
        found = self._named.get(key, [])
        if len(found) == 1:
            return found[0]
        if found:
            reader.say("name", "the code of the person", hint=f"{len(found)} people have this name")
            return ""
        self.made.append(self._make_code())
        return self.made[-1]

    def _agrees(
        self, reader: Reader, person: _Person, name: str, profession: str, left: date | None
    ) -> None:
        where = f"as in line {person.first.row.line} of {person.first.file}"
        if name and person.name and _key(name) != _key(person.name):
            reader.say("name", f"{quoted(person.name)}, {where} with the same code")
        if profession.casefold() != person.profession.casefold():
            reader.say("profession", f"{quoted(person.profession)}, {where} with the same code")
        if left is not None:
            person.left = left

    def _joined(
        self, before: tuple[Posting, ...], new: list[tuple[Posting, Line]]
    ) -> tuple[Posting, ...]:
        new = sorted(new, key=lambda pair: pair[0].since)
        for (one, _), (other, line) in pairwise(new):
            if one.since == other.since:
                self._problems.append(
                    line.problem("since", "another first day for each stay of one person")
                )
        first = new[0][0].since
        stays = [stay for stay in before if stay.since < first] + [stay for stay, _ in new]
        return tuple(
            replace(stay, until=following.since - timedelta(days=1))
            if following is not None and (stay.until is None or stay.until >= following.since)
            else stay
            for stay, following in zip(stays, [*stays[1:], None], strict=True)
        )

    def _name(self, name: str, code: str) -> None:
        if name and code not in self._named.setdefault(_key(name), []):
            self._named[_key(name)].append(code)


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()


def _near(name: str, names: Iterable[str]) -> str:
    """Suggest the nearest, and never list everybody."""
    hint = nearest(name, sorted(names))
    return hint if hint.startswith("did you mean") else ""
