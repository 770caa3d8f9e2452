"""The due list leaves: as CSV, as a spreadsheet, as calendar days, printed by unit with reminders.

Rules of this file:

- What leaves is what the filters of the first page show, every line of it.
- The printed list is for the coordinator. A reminder to one person names nobody else; one to a unit
  names nobody at all.
- Nothing is sent from here: a reminder is copied, or opened in the mail program without an address
  and, since an address of a page stays behind in places, without the name.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import UTC, date, datetime
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.contexts import DuePage, DueUnit, Reminder
from simengine.coordinator.home import chosen_standing, part_of, roster_asked
from simengine.coordinator.page_words import day_words, unit_on
from simengine.coordinator.which_unit import unit_asked
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, coordinator, today
from simengine.exchange.due_list import (
    DueLine,
    due_calendar,
    due_csv,
    due_xlsx,
    reminder,
    reminder_of_unit,
)
from simengine.people.currency import Evidence
from simengine.store.lists import currency_of
from simengine.web.app_state import state_of
from simengine.web.note_read import note_read
from simengine.web.pages import page

PATH = "/cohort/due"
_TO_DO = ("due", "overdue", "never")
_NO_UNIT = "no unit today"


async def as_csv(request: Request) -> Response:
    """``GET /cohort/due.csv``."""
    return await _file(request, "csv", "text/csv; charset=utf-8", due_csv)


async def as_xlsx(request: Request) -> Response:
    """``GET /cohort/due.xlsx``."""
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    return await _file(request, "xlsx", kind, due_xlsx)


async def as_calendar(request: Request) -> Response:
    """``GET /cohort/due.ics``: what is due, overdue or was never met."""

    def made(lines: list[DueLine]) -> bytes:
        stamp = datetime.fromtimestamp(state_of(request).clock.wall_ms() / 1000, UTC)
        return due_calendar([line for line in lines if line.status in _TO_DO], stamp)

    return await _file(request, "ics", "text/calendar; charset=utf-8", made)


async def printed(request: Request) -> Response:
    """``GET /cohort/due``: what is to do, by unit, with reminders to copy."""
    coordinator(request)
    day = today(request)
    every = await _lines(request, "printed due list")
    units: dict[str, list[DueLine]] = {}
    for line in every:
        if line.status in _TO_DO:
            units.setdefault(line.unit or _NO_UNIT, []).append(line)
    data = DuePage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        day=day_words(day),
        units=tuple(_unit(unit, units[unit], day) for unit in sorted(units)),
    )
    return page(request, "cohort/due.html.j2", data)


def _unit(unit: str, lines: list[DueLine], day: date) -> DueUnit:
    of_person: dict[str, list[DueLine]] = {}
    for line in lines:
        of_person.setdefault(line.code, []).append(line)
    to_all = reminder_of_unit(unit, lines, day)
    return DueUnit(
        unit,
        tuple(
            (line.who, line.profession, line.title, line.standing, day_words(line.due))
            for line in lines
        ),
        _reminder("To all of the unit", to_all, to_all),
        tuple(
            _reminder(some[0].who, reminder(some, day), reminder(some, day, named=False))
            for some in of_person.values()
        ),
    )


def _reminder(who: str, text: str, in_address: str) -> Reminder:
    subject, body = quote("Simulation training that is due"), quote(in_address)
    return Reminder(who, text, f"mailto:?subject={subject}&body={body}")


async def _file(
    request: Request, ending: str, kind: str, made: Callable[[list[DueLine]], bytes]
) -> Response:
    lines = await _lines(request, f"due list as {ending.upper()}")
    return Response(
        await asyncio.to_thread(made, lines),
        media_type=kind,
        headers={"content-disposition": f'attachment; filename="due-list.{ending}"'},
    )


async def _lines(request: Request, what: str) -> list[DueLine]:
    """Return what the filters show, every line; who is in it is noted as read."""
    visitor = coordinator(request)
    store, day, query = state_of(request).store, today(request), request.query_params
    unit = unit_asked(request)

    def look() -> list[DueLine]:
        roster = roster_asked(store, unit)
        standing = currency_of(store, part_of(roster, day, query, unit), day)
        _, _, listed = chosen_standing(roster, standing, day, query, unit)
        people = {trainee.code: trainee for trainee in roster.trainees}
        titles = {requirement.id: requirement.title for requirement in roster.requirements}
        out = []
        for entry in listed:
            who, proof = people[entry.code], entry.proof
            last = None
            if proof is not None:
                last = proof.day if isinstance(proof, Evidence) else proof.issued
            out.append(
                DueLine(
                    entry.code, who.name, unit_on(who, day), who.profession, entry.requirement,
                    titles[entry.requirement], entry.status, entry.until, last,
                )
            )  # fmt: skip
        return out

    lines = await asyncio.to_thread(look)
    note_read(request, visitor, what, list(dict.fromkeys(line.code for line in lines)))
    return lines
