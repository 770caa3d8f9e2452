"""The tables of a roster, by which it is read from files and written to them.

Rules of this file:

- Every table begins with whom a row is about, by code or by name: ``code`` goes before ``name``.
- A stay on a unit stands in the row of its person. A table of postings, which is read too, says
  the same of people who stand elsewhere.
- These tables hold names: they are the coordinator's own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import date
from typing import Any, Literal, TypeAlias, TypeVar

from simengine.columns import Column, Table
from simengine.people.roster import (
    Attendance,
    Certificate,
    Leave,
    Posting,
    Requirement,
    Roster,
    Trainee,
)

Kind = Literal["trainees", "postings", "leaves", "certificates", "attendances", "requirements"]
Source = TypeVar("Source")
_Stay: TypeAlias = tuple[Trainee, Posting]
_Away: TypeAlias = tuple[Trainee, Leave]
_Proof: TypeAlias = tuple[Trainee, Certificate]
_Attended: TypeAlias = tuple[Trainee, Attendance]

SEPARATOR = "; "
"""Between several texts in a cell."""


@dataclass(frozen=True, slots=True)
class RosterFile:
    """One kind of file. ``tells``: the column by which it is known, and can be no other kind."""

    tells: str
    table: Table[Any]

    @property
    def columns(self) -> Mapping[str, Column[Any]]:
        """The columns by their names."""
        return {column.name: column for column in self.table.columns}

    @property
    def needs(self) -> tuple[str, ...]:
        """The headings that a file has to have."""
        return tuple(column.name for column in self.table.columns if not column.optional)

    @property
    def may(self) -> tuple[str, ...]:
        """The headings that it may have."""
        return tuple(column.name for column in self.table.columns if column.optional)


_COURSE = ("course", "course_name", "competency", "training")
_SINCE = ("start", "start_date", "from", "date_from", "starts", "started", "joined")
_UNIT = ("ward", "department", "work_place", "workplace", "place_of_work", "location")
_UNTIL = ("end", "end_date", "to", "date_to", "ends")


def _person(of: Callable[[Source], Trainee]) -> tuple[Column[Source], ...]:
    return (
        Column(
            "code",
            "text",
            "the person's code; empty where the name alone tells who it is",
            lambda row: of(row).code,
            optional=True,
            also=("trainee", "trainee_code"),
        ),
        Column(
            "name",
            "text",
            "the person's name; empty where the code alone tells who it is",
            lambda row: of(row).name,
            optional=True,
            asked="a name",
            also=("full_name", "employee", "employee_name", "staff_member"),
        ),
        Column(
            "staff_number",
            "text",
            "the person's number in the personnel office's list; beside the name, never in a log",
            lambda row: of(row).staff_number,
            optional=True,
            asked="a staff number",
            most=30,
            also=(
                "staff_no",
                "staff_id",
                "employee_number",
                "employee_no",
                "employee_id",
                "personnel_number",
                "personnel_no",
                "payroll_number",
                "assignment_number",
            ),
        ),
    )


def _since(meaning: str, of: Callable[[Source], date]) -> Column[Source]:
    return Column("since", "day", meaning, of, also=_SINCE)


def _until(
    meaning: str, of: Callable[[Source], date | None], *, optional: bool = True
) -> Column[Source]:
    return Column("until", "day", meaning, of, optional=optional, also=_UNTIL)


def _of_stay() -> tuple[Column[_Stay], Column[_Stay], Column[_Stay]]:
    return (
        Column(
            "unit",
            "text",
            "the unit",
            lambda pair: pair[1].unit,
            asked="a unit",
            most=60,
            also=_UNIT,
        ),
        _since("the first day on the unit", lambda pair: pair[1].since),
        _until("the last day on the unit; empty while the stay lasts", lambda pair: pair[1].until),
    )


def _trainee(pair: tuple[Trainee, Any]) -> Trainee:
    return pair[0]


def _stays(roster: Roster) -> Iterator[_Stay]:
    return ((trainee, stay) for trainee in roster.trainees for stay in trainee.postings)


def _with_trainee(roster: Roster, rows: tuple[Any, ...]) -> Iterator[tuple[Trainee, Any]]:
    known = {trainee.code: trainee for trainee in roster.trainees}
    return ((known[row.code], row) for row in rows)


TRAINEES: Table[_Stay] = Table(
    "trainees",
    "one row for each person and each stay on a unit",
    (
        *_person(_trainee),
        Column(
            "profession",
            "text",
            "the person's profession",
            lambda pair: pair[0].profession,
            asked="a profession",
            most=60,
            also=("job", "job_title", "position", "occupation", "staff_group", "post"),
        ),
        *_of_stay(),
        Column(
            "left",
            "day",
            "the last day in the hospital's service; empty while it lasts",
            lambda pair: pair[0].left,
            optional=True,
            also=("leaving_date", "date_left", "last_day", "left_on", "termination_date"),
        ),
    ),
    _stays,
)

POSTINGS: Table[_Stay] = Table(
    "postings",
    "one row for each stay on a unit of somebody who is known",
    (*_person(_trainee), *_of_stay()),
    _stays,
)

LEAVES: Table[_Away] = Table(
    "leaves",
    "one row for each time away, for which currency is paused",
    (
        *_person(_trainee),
        _since("the first day away", lambda pair: pair[1].since),
        _until("the last day away", lambda pair: pair[1].until, optional=False),
        Column(
            "reason",
            "text",
            "why; may be empty",
            lambda pair: pair[1].reason,
            optional=True,
            asked="a reason",
        ),
    ),
    lambda roster: _with_trainee(roster, roster.leaves),
)

CERTIFICATES: Table[_Proof] = Table(
    "certificates",
    "one row for each proof from outside that a requirement was met",
    (
        *_person(_trainee),
        Column(
            "requirement",
            "text",
            "the requirement's name",
            lambda pair: pair[1].requirement,
            also=_COURSE,
        ),
        Column(
            "issued",
            "day",
            "the day on which it was met",
            lambda pair: pair[1].issued,
            also=(
                "issue_date",
                "date_issued",
                "completed",
                "completed_on",
                "completion_date",
                "passed_on",
            ),
        ),
        Column(
            "issuer",
            "text",
            "who issued it",
            lambda pair: pair[1].issuer,
            asked="who issued it",
            also=("issued_by", "provider", "training_provider"),
        ),
        Column(
            "expires",
            "day",
            "the last day on which it counts; empty where the requirement says",
            lambda pair: pair[1].expires,
            optional=True,
            also=("valid_until", "valid_to", "expiry", "expiry_date", "expires_on"),
        ),
    ),
    lambda roster: _with_trainee(roster, roster.certificates),
)


ATTENDANCES: Table[_Attended] = Table(
    "attendances",
    "one row for each person at each training that no session is kept of; never proof of an "
    "outcome",
    (
        *_person(_trainee),
        Column(
            "attended",
            "day",
            "the day of the training",
            lambda pair: pair[1].day,
            also=("attended_on", "date_attended", "attendance_date", "training_date"),
        ),
        Column(
            "title",
            "text",
            "what was attended",
            lambda pair: pair[1].title,
            asked="what was attended",
            also=("event", "topic", *_COURSE),
        ),
        Column(
            "minutes",
            "whole number",
            "how long it was",
            lambda pair: pair[1].minutes,
            "minutes",
            least=1,
            most=1440,
            also=("duration", "duration_min", "duration_minutes", "length"),
        ),
        Column(
            "place",
            "text",
            "where it was; may be empty",
            lambda pair: pair[1].place,
            optional=True,
            asked="a place",
            also=("venue", "room", "site"),
        ),
    ),
    lambda roster: _with_trainee(roster, roster.attendances),
)


def _several(name: str, meaning: str, *also: str) -> Column[Requirement]:
    """Return a column of several texts, from the field of its own name; empty means any."""
    meaning = f"{meaning}; empty means any"
    return Column(
        name,
        "texts",
        meaning,
        lambda requirement: SEPARATOR.join(getattr(requirement, name)),
        optional=True,
        also=also,
    )


def _days(name: str, meaning: str, most: int) -> Column[Requirement]:
    """Return a column of days, from the field of its own name; empty means the field's default."""
    usual = {field.name: field.default for field in fields(Requirement)}[name]
    assert isinstance(usual, int)
    return Column(
        name,
        "whole number",
        f"{meaning}; {usual} where empty",
        lambda requirement: int(getattr(requirement, name)),
        "days",
        optional=True,
        most=most,
        usual=usual,
    )


REQUIREMENTS: Table[Requirement] = Table(
    "requirements",
    "one row for each thing that is asked of people again and again",
    (
        Column(
            "requirement",
            "text",
            "its short name",
            lambda requirement: requirement.id,
            also=_COURSE,
        ),
        Column(
            "title",
            "text",
            "the requirement in words",
            lambda requirement: requirement.title,
            asked="the requirement in words",
        ),
        Column(
            "every_months",
            "whole number",
            "how long evidence holds",
            lambda requirement: requirement.every_months,
            "months",
            least=1,
            also=("every", "months", "frequency_months", "renewal_months", "valid_months"),
        ),
        _several("professions", "of whom it is asked", "profession", "job_titles", "job_title"),
        _several("units", "where it is asked", "wards", "departments"),
        _several("scenarios", "ids of the scenarios that meet it"),
        Column(
            "role",
            "text",
            "the role that has to be held; empty means any",
            lambda requirement: requirement.role,
            optional=True,
        ),
        _days("warn_days", "how long before the last day a person is due", 366),
        _days("starter_days", "how long who is new to it has for the first time", 730),
        Column(
            "since",
            "day",
            "the first day on which it is asked; empty if it always was",
            lambda requirement: requirement.since,
            optional=True,
            also=("asked_from", *_SINCE),
        ),
    ),
    lambda roster: iter(roster.requirements),
)

# In the order in which they are tried: a trainees file has a unit too, and so on.
KINDS: Mapping[Kind, RosterFile] = {
    "requirements": RosterFile("every_months", REQUIREMENTS),
    "certificates": RosterFile("issued", CERTIFICATES),
    "attendances": RosterFile("attended", ATTENDANCES),
    "trainees": RosterFile("profession", TRAINEES),
    "postings": RosterFile("unit", POSTINGS),
    "leaves": RosterFile("until", LEAVES),
}

WRITTEN: tuple[Table[Any], ...] = (TRAINEES, REQUIREMENTS, LEAVES, CERTIFICATES, ATTENDANCES)
"""The tables that hold a whole roster; postings stand in the rows of their people."""
