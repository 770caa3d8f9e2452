"""What the pages about attendance and planned sessions are told. Rules: as in ``contexts``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from simengine.coordinator.contexts import Choice, Sign
from simengine.web.paging import Pages


@dataclass(frozen=True, slots=True)
class AttendedRow:
    """A training that a person attended without a score. ``day_iso``: for the form that takes it
    back."""

    day: str
    day_iso: str
    code: str
    name: str
    address: str
    title: str
    length: str
    place: str


@dataclass(frozen=True, slots=True)
class AttendancePage:
    """`cohort/attendance.html.j2` at `/cohort/attendance`. Form: POST there with `do` (`add`,
    `remove`) and its fields.

    ``titles``: what is offered for what was attended. ``kept``: what was done, empty for nothing.
    """

    here: str
    readers: str
    problems: tuple[str, ...]
    filled: Mapping[str, str]
    titles: tuple[str, ...]
    kept: str
    rows: tuple[AttendedRow, ...]
    pages: Pages


@dataclass(frozen=True, slots=True)
class PlannedRow:
    """A session to come. ``team``: (role, who, address of their page). ``away``: who is on leave
    on that day. ``attendance``: where it is said who came, once it is past and nothing was
    recorded of it; ``may``: what can be done with it.
    """

    id: str
    when: str
    where: str
    title: str
    purpose: str
    sign: Sign
    team: tuple[tuple[str, str, str], ...]
    away: tuple[str, ...]
    note: str
    change: str
    attendance: str
    may: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlanPage:
    """`cohort/plan.html.j2` at `/cohort/plan`. Form: POST there with `do` (`book`, `change`,
    `cancel`, `restore`) and its fields.

    ``scenarios``: (id, title). ``calendars``: (address, words). ``open_form``: the form is what
    the page was opened for.
    """

    here: str
    readers: str
    problems: tuple[str, ...]
    filled: Mapping[str, str]
    scenarios: tuple[tuple[str, str], ...]
    units: tuple[str, ...]
    filters: tuple[Choice, ...]
    calendars: tuple[tuple[str, str], ...]
    rows: tuple[PlannedRow, ...]
    pages: Pages
    open_form: bool
