"""Sessions to come: planned with day, time, place and people, and on their way into calendars.

Rules of this file:

- The page shows what is to come, and what is past and nothing was recorded of. What was held is in
  the record.
- ``scenario``, ``unit`` and ``team``: the form opens with a drill that was offered.
- ``who``: the form opens with the drill that meets most of what is due for that person, with others
  of the unit who need it, too.
- A person's own calendar, and one for a team, name neither the scenario nor anybody.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.contexts import Sign
from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.drills import drill_for, seats_of
from simengine.coordinator.page_words import PURPOSES, unit_on
from simengine.coordinator.plan_form import AHEAD, filled_from, read_booking, team_words
from simengine.coordinator.planned_words import when_words, where_words
from simengine.coordinator.planning_contexts import PlannedRow, PlanPage
from simengine.coordinator.which_unit import unit_asked
from simengine.coordinator.who_may_read import (
    COORDINATOR_ALONE,
    coordinator,
    person_address,
    reader_of,
    today,
)
from simengine.exchange.plan_calendar import TO_A_TEAM, Entry, plan_calendar
from simengine.people.bookings import Booking
from simengine.people.roster import Roster
from simengine.store import Store, StoreError, people
from simengine.store.bookings import (
    book,
    booking,
    bookings_between,
    bookings_of,
    cancel,
    change_booking,
)
from simengine.store.lists import units
from simengine.web.app_state import state_of
from simengine.web.forms import form_of
from simengine.web.note_read import note_read
from simengine.web.pages import page, see
from simengine.web.paging import LISTED, ROWS, page_number, pages_of
from simengine.web.refusal import RefusalError
from simengine.web.shelf import ShelfScenario

PATH = "/cohort/plan"
_PAST = timedelta(days=60)
_PLANNED = Sign("due", "◆", "planned")
_HELD = Sign("current", "●", "held")
_PAST_DAY = Sign("never", "○", "not recorded")
_CANCELLED = Sign("none", "–", "cancelled")
_USUAL = {"minutes": "60", "purpose": "summative"}


async def plan(request: Request) -> Response:
    """``GET /cohort/plan``; ``change`` and ``who`` fill in the form."""
    coordinator(request)
    query = request.query_params
    store = state_of(request).store
    scenarios = await _scenarios(request)
    filled: Mapping[str, str] = _USUAL
    if query.get("change"):
        planned = booking(store, query["change"])
        if planned is None:
            raise RefusalError(404, "No such session", "It is not planned any more.")
        filled = filled_from(
            planned, _roles(scenarios, planned.scenario), _names(people.roster(store))
        )
    elif query.get("scenario"):
        filled = _offered(query, scenarios, _names(people.roster(store)))
    elif query.get("who"):
        who, day = query["who"][:40], today(request)
        filled = await asyncio.to_thread(_for_person, store, scenarios, who, day)
    return await _drawn(request, scenarios, (), filled, open_form=filled is not _USUAL)


async def change(request: Request) -> Response:
    """``POST /cohort/plan``: ``do`` is ``book``, ``change``, ``cancel`` or ``restore``."""
    visitor = coordinator(request)
    form = await form_of(request, visitor)
    store = state_of(request).store
    scenarios = await _scenarios(request)
    what, id_ = form.get("do", ""), form.get("id", "")
    try:
        if what in ("cancel", "restore"):
            cancel(store, id_, cancelled=what == "cancel")
            return see(f"{PATH}#b-{id_}")
        fields = form if what == "change" else {**form, "id": ""}
        made, problems = read_booking(
            fields, scenarios, people.roster(store).trainees, today(request)
        )
        if made is None:
            return await _drawn(
                request, scenarios, tuple(problems), form, open_form=True, status=422
            )
        if what == "change":
            change_booking(store, made)
        else:
            book(store, [made])
    except StoreError as error:
        raise RefusalError(404, "No such session", f"{error}.") from error
    return see(f"{PATH}#b-{made.id}")


async def as_calendar(request: Request) -> Response:
    """``GET /cohort/plan.ics``; with ``for=team`` without scenario and people."""
    visitor = coordinator(request)
    store, day = state_of(request).store, today(request)
    scenarios = await _scenarios(request)
    bookings = _listed(store, day, unit_asked(request).chosen)
    if request.query_params.get("for") == "team":
        return _calendar(request, [Entry(booked, TO_A_TEAM) for booked in bookings])
    names = _names(people.roster(store))
    note_read(
        request,
        visitor,
        "calendar of sessions to come",
        sorted({code for booked in bookings for code in booked.people}),
    )
    return _calendar(
        request,
        [
            Entry(
                booked,
                f"Simulation: {_title(scenarios, booked)}",
                "\n".join(
                    filter(
                        None,
                        (
                            team_words(booked.team, _roles(scenarios, booked.scenario), names),
                            booked.note,
                        ),
                    )
                ),
            )
            for booked in bookings
        ],
    )


async def own_calendar(request: Request) -> Response:
    """``GET /cohort/people/CODE/plan.ics``: what a person is to come to."""
    code = request.path_params["code"]
    reader_of(request, code)
    bookings = bookings_of(state_of(request).store, code, today(request))
    return _calendar(request, [Entry(booked, TO_A_TEAM) for booked in bookings])


def _calendar(request: Request, entries: Sequence[Entry]) -> Response:
    stamp = datetime.fromtimestamp(state_of(request).clock.wall_ms() / 1000, UTC)
    return Response(
        plan_calendar(entries, stamp),
        media_type="text/calendar; charset=utf-8",
        headers={"content-disposition": 'attachment; filename="sessions.ics"'},
    )


def _listed(store: Store, day: date, unit: str) -> list[Booking]:
    """Return what is to come, and what is past and nothing was said of, in order of time."""
    bookings = bookings_between(store, day - _PAST, day + AHEAD, unit=unit or None, cancelled=True)
    return [
        booked for booked in bookings if booked.day >= day or not (booked.done or booked.cancelled)
    ]


def _for_person(
    store: Store, scenarios: Mapping[str, ShelfScenario], code: str, day: date
) -> dict[str, str]:
    """Return the form filled in for what is due for a person, with others who need it, too."""
    roster = people.roster_of(store, code=code)
    if not roster.trainees:
        return {**_USUAL}
    unit = unit_on(roster.trainees[0], day)
    if unit:
        roster = people.roster_of(store, unit=unit)
    drill = drill_for(store, roster, seats_of(scenarios), code, day)
    names = _names(people.roster(store))
    if drill is None:
        return {**_USUAL, "unit": unit, "team": team_words({"": (code,)}, {}, names)}
    team = {seat.role: (seat.code,) for seat in drill.seats}
    return {
        **_USUAL,
        "scenario": drill.scenario,
        "unit": unit,
        "team": team_words(team, scenarios[drill.scenario].roles, names),
    }


def _offered(
    query: Mapping[str, str], scenarios: Mapping[str, ShelfScenario], names: Mapping[str, str]
) -> dict[str, str]:
    """Return the form filled in with a drill that was offered: scenario, unit and team."""
    team: dict[str, tuple[str, ...]] = {}
    for part in query.get("team", "")[:2000].split(";"):
        role, _, code = part.partition(":")
        if code:
            team[role] = (*team.get(role, ()), code)
    scenario = query["scenario"][:80]
    words = team_words(team, _roles(scenarios, scenario), names)
    return {**_USUAL, "scenario": scenario, "unit": query.get("unit", "")[:80], "team": words}


async def _scenarios(request: Request) -> dict[str, ShelfScenario]:
    shelf = await state_of(request).shelf.checked()
    return {scenario.id: scenario for scenario in shelf.scenarios}


def _roles(scenarios: Mapping[str, ShelfScenario], scenario: str) -> Mapping[str, str]:
    return scenarios[scenario].roles if scenario in scenarios else {}


def _title(scenarios: Mapping[str, ShelfScenario], booked: Booking) -> str:
    return scenarios[booked.scenario].title if booked.scenario in scenarios else booked.scenario


def _names(roster: Roster) -> dict[str, str]:
    return {trainee.code: trainee.name for trainee in roster.trainees}


async def _drawn(
    request: Request,
    scenarios: Mapping[str, ShelfScenario],
    problems: tuple[str, ...],
    filled: Mapping[str, str],
    *,
    open_form: bool,
    status: int = 200,
) -> Response:
    visitor = coordinator(request)
    store, day, unit = state_of(request).store, today(request), unit_asked(request)
    roster = people.roster(store)
    bookings = _listed(store, day, unit.chosen)
    chosen = {"unit": unit.chosen} if unit.chosen else {}
    pages = pages_of(PATH, chosen, page_number(request), len(bookings))
    shown = bookings[max(0, pages.first - 1) : max(0, pages.first - 1) + ROWS]
    note_read(
        request,
        visitor,
        "sessions to come",
        sorted({code for booked in shown for code in booked.people}),
    )
    query = f"?{urlencode(chosen)}" if chosen else ""
    data = PlanPage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        problems=problems,
        filled=filled,
        scenarios=tuple((scenario.id, scenario.title) for scenario in scenarios.values()),
        units=units(store, limit=LISTED),
        filters=(unit,),
        calendars=(
            (f"{PATH}.ics{query}", say("calendar_own")),
            (
                f"{PATH}.ics?{urlencode({**chosen, 'for': 'team'})}",
                say("calendar_share"),
            ),
        ),
        rows=tuple(_row(booked, scenarios, roster, day) for booked in shown),
        pages=pages,
        open_form=open_form or not bookings,
    )
    return page(request, "cohort/plan.html.j2", data, status=status)


def _standing(booked: Booking, day: date) -> tuple[Sign, tuple[str, ...]]:
    """Return how a planned session stands, and what can be done with it."""
    if booked.cancelled:
        return _CANCELLED, ("restore",)
    if booked.done:
        return _HELD, ()
    return (_PAST_DAY if booked.day < day else _PLANNED), ("change", "cancel")


def _row(
    booked: Booking, scenarios: Mapping[str, ShelfScenario], roster: Roster, day: date
) -> PlannedRow:
    names = _names(roster)
    roles = _roles(scenarios, booked.scenario)
    title = _title(scenarios, booked)
    sign, may = _standing(booked, day)
    # codes alone: no name stands in an address
    attended = {
        "booking": booked.id,
        "title": title,
        "day": booked.day.isoformat(),
        "minutes": str(booked.minutes),
        "place": where_words(booked),
        "who": "\n".join(booked.people),
    }
    here = booked.day <= day and not booked.done and not booked.cancelled
    return PlannedRow(
        id=booked.id,
        when=when_words(booked),
        where=where_words(booked),
        title=title,
        purpose=PURPOSES[booked.purpose],
        sign=sign,
        team=tuple(
            (roles.get(role, role.replace("_", " ")), names.get(code) or code, person_address(code))
            for role, codes in booked.team.items()
            for code in codes
        ),
        away=tuple(
            names.get(leave.code) or leave.code
            for leave in roster.leaves
            if leave.code in booked.people and leave.since <= booked.day <= leave.until
        ),
        note=booked.note,
        change=f"{PATH}?{urlencode({'change': booked.id})}#plan" if "change" in may else "",
        attendance=f"/cohort/attendance?{urlencode(attended)}" if here else "",
        may=may,
    )
