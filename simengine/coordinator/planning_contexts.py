"""What the pages about attendance and planned sessions are told. Rules: as in ``contexts``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

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
