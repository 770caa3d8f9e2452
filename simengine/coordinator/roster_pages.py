"""Importing a roster: a dry run with every problem by row, then the import itself.

Rules of this file:

- Nothing is saved by a dry run, and nothing at all while a row is wrong.
- A complaint names the file as the coordinator knows it, the row and the heading.
- Code and files are read in a thread, so that no running session waits.
"""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import Collection, Sequence
from dataclasses import replace
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.contexts import Choice, RosterPage, SentFile, Told
from simengine.coordinator.upload import Upload, upload_of
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, coordinator
from simengine.people.days import ORDERS, Order
from simengine.people.read_roster import RosterRead, read_roster
from simengine.people.roster import Roster
from simengine.problems import InputError, Problem
from simengine.quantities.formatting import count
from simengine.store import people
from simengine.web.app_state import state_of
from simengine.web.pages import page, see
from simengine.web.refusal import RefusalError

PATH = "/cohort/roster"
_MOST_TOLD = 100
_MOST_BYTES = 180_000  # in the page they come back a third longer, and 256 kB are taken at once
_SAY_DATES = "say --dates day-first or --dates month-first"

EXAMPLES = (
    (
        "Trainees: one row for each person on each unit; leave the code empty and one is made",
        "code,name,profession,unit,since\n"
        "k7f3m2,Ada Example,nurse,birth unit,2024-03-01\n"
        ",Ben Example,doctor,neonatal unit,2025-09-01\n",
    ),
    (
        "Requirements: who needs what, how often; empty professions, units or scenarios mean any",
        "requirement,title,every_months,professions,scenarios,role\n"
        "cot,Cot preparation,6,nurse;midwife,cot-term;cot-preterm,\n"
        "airway,A resuscitation in the airway role,12,,,airway\n",
    ),
    (
        "Leave, certificates from outside and training attended without a recorded session, if "
        "there are any, in files of their own",
        "code,since,until,reason\nk7f3m2,2025-01-10,2025-07-01,parental leave\n\n"
        "code,requirement,issued,issuer,expires\n"
        "k7f3m2,airway,2025-05-04,County course,2026-05-04\n\n"
        "code,attended,title,minutes,place\n"
        "k7f3m2,2025-06-12,Study morning on the cot,90,seminar room\n",
    ),
)


async def form(request: Request) -> Response:
    """``GET /cohort/roster``."""
    coordinator(request)
    return page(request, "cohort/roster.html.j2", _page((), None, None))


async def send(request: Request) -> Response:
    """``POST /cohort/roster``: the dry run, and with ``save`` the import."""
    visitor = coordinator(request)
    fields, files = await upload_of(request, visitor)
    order = _order(fields.get("dates", ""))
    if not files:
        raise RefusalError(422, "No file", "Choose one or more CSV files first.")
    if sum(len(file.content) for file in files) > _MOST_BYTES:
        raise RefusalError(
            413,
            "Too much for this page",
            f"Together the files have more than {_MOST_BYTES // 1000} kB. On this machine "
            "“simengine import” takes larger ones, while the console runs.",
        )
    state = state_of(request)
    known = people.roster(state.store)
    used = people.codes_used(state.store)
    shelf = await state.shelf.checked()
    scenarios = {scenario.id: tuple(scenario.roles) for scenario in shelf.scenarios}

    def read() -> RosterRead:
        return _read(files, known, scenarios, order, used)

    try:
        roster_read = await asyncio.to_thread(read)
    except InputError as error:
        page_data = _page(files, order, None, error.problems)
        return page(request, "cohort/roster.html.j2", page_data, status=422)
    if fields.get("save") == "yes":
        people.save_roster(state.store, roster_read.roster)
        return see("/cohort")
    data = _page(files, order, changes_of(roster_read, known), roster_read.warnings)
    return page(request, "cohort/roster.html.j2", data)


def changes_of(found: RosterRead, known: Roster) -> tuple[str, ...]:
    """Return in words what an import would change."""
    new, made = len(found.new), len(found.made)
    changes = list(found.understood())
    if new:
        changes.append(
            f"{count(new, 'person', 'people')} would be added"
            + (f"; {made} get a new code" if made else "")
            + "."
        )
    if found.changed:
        listed = ", ".join(found.changed[:12]) + (" …" if len(found.changed) > 12 else "")
        changes.append(
            f"{count(len(found.changed), 'person', 'people')} would be changed: {listed}."
        )
    before = {requirement.id: requirement for requirement in known.requirements}
    for need in found.roster.requirements:
        if need.id not in before:
            changes.append(f"Asked from now on: {need.title}, every {need.every_months} months.")
        elif before[need.id] != need:
            changes.append(f"Asked differently: {need.title}, every {need.every_months} months.")
    changes += [f"Asked no more: {need.title}." for need in found.dropped]
    for what, now, then in (
        ("leave", found.roster.leaves, known.leaves),
        ("certificate", found.roster.certificates, known.certificates),
    ):
        more = len(set(now) - set(then))
        if more:
            changes.append(f"{count(more, what)} would be added or changed.")
    if found.roster.attendances:
        many = count(len(found.roster.attendances), "attendance")
        changes.append(f"{many} would be added or changed.")
    return tuple(changes)


def _read(
    files: Sequence[Upload],
    known: Roster,
    scenarios: dict[str, tuple[str, ...]],
    order: Order | None,
    used: Collection[str],
) -> RosterRead:
    """Read files from a folder that goes again; complaints name them as they were sent."""
    with tempfile.TemporaryDirectory() as folder:
        paths, names = [], {}
        for number, file in enumerate(files):
            path = Path(folder) / f"{number}.csv"
            path.write_bytes(file.content)
            paths.append(path)
            names[str(path)] = file.name
        try:
            roster_read = read_roster(
                paths, known=known, scenarios=scenarios, order=order, used=used
            )
        except InputError as error:
            raise InputError([_named(problem, names) for problem in error.problems]) from None
    return replace(
        roster_read,
        warnings=tuple(_named(problem, names) for problem in roster_read.warnings),
        read_as=tuple(
            replace(known_column, file=names.get(known_column.file, known_column.file))
            for known_column in roster_read.read_as
        ),
    )


def _named(problem: Problem, names: dict[str, str]) -> Problem:
    def plain(text: str) -> str:
        for path, name in names.items():
            text = text.replace(path, name)
        return text

    return Problem(
        names.get(problem.file, problem.file), problem.line, problem.column, problem.path,
        plain(problem.expected), plain(problem.found), problem.code, problem.level,
        hint=plain(problem.hint).replace(_SAY_DATES, "choose below how such days read"),
    )  # fmt: skip


def _page(
    files: Sequence[Upload],
    order: Order | None,
    changes: tuple[str, ...] | None,
    problems: Sequence[Problem] = (),
) -> RosterPage:
    wrong = any(problem.level == "error" for problem in problems)
    return RosterPage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        examples=EXAMPLES,
        orders=Choice(
            "dates",
            "Days such as 03/04/2026",
            (("", "as the file tells"), *((name, f"{name.replace('-', ' ')}") for name in ORDERS)),
            order or "",
        ),
        files=tuple(SentFile(file.name, file.kept) for file in files),
        told=tuple(_told(problem) for problem in problems[:_MOST_TOLD]),
        left_out=max(0, len(problems) - _MOST_TOLD),
        changes=() if wrong else changes,
        can_save=not wrong,
    )


def _told(problem: Problem) -> Told:
    where = problem.file + (f", row {problem.line}" if problem.line else "")
    return Told(where, f"{problem.message}.", problem.level == "error")


def _order(typed: str) -> Order | None:
    return next((order for order in ORDERS if order == typed), None)
