"""Trainees and postings from roster files, joined with those that are known already.

Rules of this file:

- A person is known by the code; where a row has none, by the staff number; where it has none of
  either, by the name, if one person alone has it. A new person without a code gets one.
- Units, professions, names and codes are the same whatever their case and blanks: the spelling that
  was there first is kept, and what was read as it is told. Near twins are asked about: of units, of
  professions, and of somebody new who is known by the name alone.
- A row of trainees is a person and one stay on a unit. Several rows with one code are one person
  who moved: they agree in name and profession.
- A stay without an end ends the day before the person's next one begins. What a file says of a
  person's stays replaces what was known from the first of these days on; earlier stays are kept.
- Nobody is removed because a file does not name them, and what a file has no column for stays.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import pairwise

from simengine.nearest_name import name_hint
from simengine.people.alike import Spellings, nearly_the_same, same_key
from simengine.people.codes import is_code
from simengine.people.roster import Posting, Trainee
from simengine.people.roster_rows import Line, Reader, quoted
from simengine.problems import Problem

MakeCode = Callable[[], str]


@dataclass(slots=True)
class _Person:
    """One person while the files are read. ``first``: the row that told of the person."""

    code: str
    profession: str
    name: str
    left: date | None
    staff_number: str
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
        self._numbers: dict[str, str] = {}
        stays = [stay.unit for trainee in self.known.values() for stay in trainee.postings]
        self.unit_names = Spellings(stays)
        self.profession_names = Spellings(person.profession for person in self.known.values())
        self.codes = Spellings((*self.known, *sorted(used)))
        for trainee in self.known.values():
            self._name(trainee.name, trainee.code)
            if trainee.staff_number:
                self._numbers[same_key(trainee.staff_number)] = trainee.code

    # --- reading ------------------------------------------------------------------------------

    def trainee(self, reader: Reader) -> None:
        """Take in a row of a trainees file."""
        line = reader.line
        name = reader.words("name")
        number = reader.words("staff_number")
        profession = reader.words("profession")
        if profession and not reader.wrong:
            profession = self.profession_names.of(profession)
        stay = self._stay(reader)
        left = reader.until("left", stay.since)
        code = self._code_in(line) or self._numbers.get(same_key(number), "")
        if not code and not name:
            reader.say("code" if "code" in line.headings else "name", "a code or a name")
        elif code and not is_code(code) and code not in self._used:
            reader.say(
                "code",
                "a code of 4 to 16 letters, digits, - or _ with at least one letter",
                hint="leave the cell empty and the program makes one",
            )
        if not reader.wrong and not code:
            code = self._code_of_new(reader, name, number)
        if reader.wrong or not code:
            self._told |= {self._code_in(line), same_key(name)}
            return
        person = self._read.get(code)
        if person is None:
            person = _Person(code, profession, name, left, number, line)
            self._read[code] = person
            self._name(name, code)
            if number and self._numbers.setdefault(same_key(number), code) != code:
                reader.say("staff_number", "a number of this person alone")
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
        number = same_key(reader.line.text("staff_number"))
        code = self._code_in(reader.line) or self._numbers.get(number, "")
        name = reader.line.text("name")
        namesakes = self._named.get(same_key(name), [])
        if self._partial or {code, same_key(name)} & self._told - {""}:
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
        elif len(namesakes) > 1:
            hint = f"{len(namesakes)} people have this name"
            reader.say("name", "the code of the person", hint=hint)
        elif not namesakes:
            names = [person.name for person in self._read.values() if person.name]
            names += [trainee.name for trainee in self.known.values() if trainee.name]
            reader.say("name", "the name of somebody in the roster", hint=_near(name, names))
        return namesakes[0] if namesakes else ""

    # --- what comes of it -----------------------------------------------------------------------

    def units(self) -> set[str]:
        """Return every unit that somebody works or worked on."""
        stays = [stay for trainee in self.known.values() for stay in trainee.postings]
        stays += [stay for person in self._read.values() for stay, _ in person.stays]
        stays += [stay for moves in self._moves.values() for stay, _ in moves]
        return {stay.unit for stay in stays}

    def near_twins(self) -> Iterator[Problem]:
        """Yield what asks whether two names that look alike are meant to be one."""
        for what, names, column in (
            ("unit", self.units(), "unit"),
            ("profession", self.professions(), "profession"),
        ):
            first: dict[str, Line] = {}
            for text, row in self._rows_of(column):
                first.setdefault(same_key(text), row)
            for name, other in nearly_the_same(names):
                line = first.get(same_key(other)) or first.get(same_key(name))
                if line is not None:
                    yield line.problem(
                        column,
                        f"one spelling of each {what}",
                        f"'{name}' and '{other}'",
                        "near-twin",
                        f"is this one {what}? then write it alike in the file",
                        warning=True,
                    )
        yield from self._near_names()

    def _near_names(self) -> Iterator[Problem]:
        """Yield what asks whether somebody new, known by the name alone, is known already."""
        brought = [self._read[code] for code in self.made if code in self._read]
        new = {same_key(person.name): person for person in brought if not person.staff_number}
        names = [trainee.name for trainee in self.known.values() if trainee.name]
        names += [person.name for person in self._read.values() if person.name]
        for name, other in nearly_the_same(names) if new else ():
            person = new.get(same_key(other)) or new.get(same_key(name))
            if person is not None:
                yield person.first.problem(
                    "name" if "name" in person.first.headings else "code",
                    "one spelling of each person's name",
                    f"'{name}' and '{other}'",
                    "near-twin",
                    "is this one person? then write it alike in the file",
                    warning=True,
                )

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
                person.staff_number or (before.staff_number if before else ""),
            )
        for code, trainee in out.items():
            read = self._read.get(code)
            new = [*(read.stays if read else ()), *self._moves.get(code, ())]
            if new:
                postings = self._joined(trainee.postings, new)
                out[code] = replace(trainee, postings=postings)
        return tuple(out.values())

    def _code_in(self, line: Line) -> str:
        """Return a row's code as it is spelt; empty where it has none."""
        code = line.text("code")
        return code if not code or code in self._used else self.codes.of(code)

    def _stay(self, reader: Reader) -> Posting:
        unit = reader.words("unit")
        if unit and not reader.wrong:
            unit = self.unit_names.of(unit)
        since = reader.needed_day("since")
        return Posting(unit, since, reader.until("until", since))

    def _code_of_new(self, reader: Reader, name: str, number: str) -> str:
        """Return the code of a person whose row has no code, and no number that is known."""
        if number:  # the number alone tells people of one name apart
            known = [code for code in self._named.get(same_key(name), []) if self._unnumbered(code)]
            if len(known) == 1:
                return known[0]
            self.made.append(self._make_code())
            return self.made[-1]
        key = same_key(name)
        before = self._nameless.get(key)
        if before is not None:
            reader.say(
                "name",
                "a code in both rows, the same for one person who moved",
                f"{quoted(name)} a second time (line {before.row.line} of {before.file})",
            )
            return ""
        self._nameless[key] = reader.line
        namesakes = self._named.get(key, [])
        if len(namesakes) == 1:
            return namesakes[0]
        if namesakes:
            reader.say(
                "name", "the code of the person", hint=f"{len(namesakes)} people have this name"
            )
            return ""
        self.made.append(self._make_code())
        return self.made[-1]

    def _unnumbered(self, code: str) -> bool:
        """Whether a person was known before, without a staff number."""
        return code in self.known and not self.known[code].staff_number and code not in self._read

    def _rows_of(self, column: str) -> Iterator[tuple[str, Line]]:
        """Yield what the rows hold in a column, each with its row."""
        for person in self._read.values():
            for _, line in person.stays:
                yield line.text(column), line
        for moves in self._moves.values():
            for _, line in moves:
                yield line.text(column), line

    def _agrees(
        self, reader: Reader, person: _Person, name: str, profession: str, left: date | None
    ) -> None:
        where = f"as in line {person.first.row.line} of {person.first.file}"
        if name and person.name and same_key(name) != same_key(person.name):
            reader.say("name", f"{quoted(person.name)}, {where} with the same code")
        if same_key(profession) != same_key(person.profession):
            reader.say("profession", f"{quoted(person.profession)}, {where} with the same code")
        if left is not None:
            person.left = left

    def _joined(
        self, before: tuple[Posting, ...], new: list[tuple[Posting, Line]]
    ) -> tuple[Posting, ...]:
        new = sorted(new, key=lambda pair: pair[0].since)
        for (earlier, _), (other, line) in pairwise(new):
            if earlier.since == other.since:
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
        if name and code not in self._named.setdefault(same_key(name), []):
            self._named[same_key(name)].append(code)


def _near(name: str, names: Iterable[str]) -> str:
    """Suggest the nearest, and never list everybody."""
    hint = name_hint(name, sorted(names))
    return hint if hint.startswith("did you mean") else ""
