"""The fewest drills that would bring most people up to date, unit by unit.

Rules of this file:

- Asked is whatever is due, overdue or was never met, but for what an assessment that is planned
  already would meet. What the drills are is decided by ``people.drills``.
- The page shows the first ``MOST`` drills, so that it does not grow with the roster. They are
  planned from it one after the other, so many days apart.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.contexts import Choice, DrillRow, DrillsPage, SeatRow
from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.home import filters_of, fits, part_of, roster_asked
from simengine.coordinator.page_words import unit_on
from simengine.coordinator.plan_form import AHEAD, read_day, read_minutes, read_start
from simengine.coordinator.which_unit import list_of_people, unit_choice
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, coordinator, person_address, today
from simengine.people.bookings import Booking, new_booking_id
from simengine.people.currency import Currency, to_do
from simengine.people.drills import Drill, Drills, Seats, fewest_drills, planned_already
from simengine.people.played_roles import played_roles
from simengine.people.roster import Roster
from simengine.quantities.formatting import count
from simengine.store import Store
from simengine.store.bookings import book, bookings_between
from simengine.store.lists import currency_of
from simengine.web.app_state import state_of
from simengine.web.forms import form_of
from simengine.web.note_read import note_read
from simengine.web.pages import page, see
from simengine.web.security import Visitor
from simengine.web.shelf import ShelfScenario

PATH = "/cohort/drills"
MOST = 30
_MOST_APART = 366
_MOST_WORDS = 120
Planned = tuple[Sequence[Currency], Sequence[Currency]]
"""Needs that are open, and needs that are planned for."""


@list_of_people(PATH)
async def drills(request: Request, visitor: Visitor, unit: Choice) -> Response:
    """``GET /cohort/drills``."""
    return await _drawn(request, visitor, unit, request.query_params, (), {"minutes": "60"})


async def plan_all(request: Request) -> Response:
    """``POST /cohort/drills``: plan the drills of the page, from a day on, so many days apart."""
    visitor = coordinator(request)
    form = await form_of(request, visitor)
    state, day = state_of(request), today(request)
    unit = unit_choice(state.store, form.get("unit", ""))
    problems: list[str] = []
    first = read_day(form.get("day", ""), day, problems)
    starts = read_start(form.get("starts", ""), problems)
    minutes = read_minutes(form.get("minutes", ""), problems)
    apart = form.get("apart", "").strip()
    if not (apart.isascii() and apart.isdigit() and int(apart[:4]) <= _MOST_APART):
        problems.append(f"Days between: expected 0 to {_MOST_APART}, found '{apart[:20]}'.")
    if problems:
        return await _drawn(request, visitor, unit, form, tuple(problems), form, 422)
    scenarios = {scenario.id: scenario for scenario in (await state.shelf.checked()).scenarios}
    place = " ".join(form.get("place", "").split())[:_MOST_WORDS]

    def kept() -> None:
        _, plan, _ = _found(state.store, scenarios, day, form, unit)
        several = [
            Booking(
                id=new_booking_id(),
                day=first + timedelta(days=number * int(apart)),
                scenario=drill.scenario,
                starts=starts,
                minutes=minutes,
                place=place,
                unit=drill.unit,
                purpose="summative",
                team={seat.role: (seat.code,) for seat in drill.seats},
            )
            for number, drill in enumerate(plan.drills[:MOST])
        ]
        book(state.store, several)

    await asyncio.to_thread(kept)
    return see("/cohort/plan")


def drill_for(store: Store, roster: Roster, seats: Seats, code: str, day: date) -> Drill | None:
    """Return the drill in which a person of a roster would be seated, if anything is due."""
    needs = to_do(currency_of(store, roster, day))
    where = {trainee.code: unit_on(trainee, day) for trainee in roster.trainees}
    plan = fewest_drills(needs, roster.requirements, where, seats)
    return next(
        (drill for drill in plan.drills if any(seat.code == code for seat in drill.seats)), None
    )


def _found(
    store: Store,
    scenarios: Mapping[str, ShelfScenario],
    day: date,
    query: Mapping[str, str],
    unit: Choice,
) -> tuple[Roster, Drills, Planned]:
    """Return the roster, what is to be held, and the needs: open, and planned for already."""
    roster = roster_asked(store, unit)
    standing = currency_of(store, part_of(roster, day, query, unit), day)
    trainees = {trainee.code: trainee for trainee in roster.trainees}
    chosen = {choice.name: choice.chosen for choice in filters_of(roster, query, unit)}
    needs = [need for need in to_do(standing) if fits(trainees[need.code], day, chosen)]
    to_come = bookings_between(store, day, day + AHEAD)
    planned = planned_already(needs, roster.requirements, to_come)
    left = [need for need in needs if need not in planned]
    where = {code: unit_on(trainee, day) for code, trainee in trainees.items()}
    drills = fewest_drills(left, roster.requirements, where, seats_of(scenarios))
    return roster, drills, (left, planned)


async def _drawn(
    request: Request,
    visitor: Visitor,
    unit: Choice,
    query: Mapping[str, str],
    problems: tuple[str, ...],
    filled: Mapping[str, str],
    status: int = 200,
) -> Response:
    state, day = state_of(request), today(request)
    scenarios = {scenario.id: scenario for scenario in (await state.shelf.checked()).scenarios}

    def look() -> DrillsPage:
        roster, plan, planned = _found(state.store, scenarios, day, query, unit)
        data = drills_page(roster, plan, planned, scenarios, filters_of(roster, query, unit))
        return replace(data, problems=problems, filled=filled)

    data = await asyncio.to_thread(look)
    seated = [seat.code for drill in data.drills for seat in drill.seats]
    note_read(request, visitor, "drills that would bring people up to date", seated)
    return page(request, "cohort/drills.html.j2", data, status=status)


def drills_page(
    roster: Roster,
    found: Drills,
    planned: Planned,
    scenarios: Mapping[str, ShelfScenario],
    filters: tuple[Choice, ...],
) -> DrillsPage:
    """Return the page of the drills that were ``found``."""
    trainees = {trainee.code: trainee for trainee in roster.trainees}
    titles = {requirement.id: requirement.title for requirement in roster.requirements}
    names = {code: trainee.name or code for code, trainee in trainees.items()}
    return DrillsPage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        filters=filters,
        lead=_lead(found, *planned),
        problems=(),
        filled={},
        drills=tuple(_row(drill, scenarios, titles, names) for drill in found.drills[:MOST]),
        more=max(0, len(found.drills) - MOST),
        unmet=tuple(dict.fromkeys(titles[need.requirement] for need in found.unmet)),
    )


def seats_of(scenarios: Mapping[str, ShelfScenario]) -> dict[str, tuple[str, ...]]:
    """Return the roles of each scenario that are not played for the team.

    Scenarios with a recorded standard come first: of drills that are alike the first is taken, and
    only there can an outcome be signed.
    """
    ready = sorted(scenarios.items(), key=lambda pair: not pair[1].has_standard)
    return {
        name: tuple(role for role in scenario.roles if role not in played_roles())
        for name, scenario in ready
    }


def _lead(plan: Drills, needs: Sequence[Currency], planned: Sequence[Currency]) -> str:
    already = ""
    if planned:
        already = say(
            "drills_planned",
            requirements=count(len(planned), "requirement is", "requirements are"),
        )
    if not needs:
        return say("drills_nobody_else" if planned else "drills_nobody", already=already)
    people_ = len({need.code for need in needs})
    met = sum(drill.met for drill in plan.drills)
    return say(
        "drills_lead",
        people=count(people_, "person needs", "people need"),
        drills=count(len(plan.drills), "drill"),
        met=met,
        needs=count(len(needs), "open requirement"),
        already=already,
    )


def _row(
    drill: Drill,
    scenarios: Mapping[str, ShelfScenario],
    titles: Mapping[str, str],
    names: Mapping[str, str],
) -> DrillRow:
    scenario = scenarios[drill.scenario]
    note = ""
    if not scenario.has_standard:
        note = say("drills_no_standard")
    return DrillRow(
        title=scenario.title,
        unit=drill.unit,
        met=count(drill.met, "requirement"),
        note=note,
        plan=_plan_address(drill),
        seats=tuple(
            SeatRow(
                scenario.roles[seat.role],
                seat.code,
                names[seat.code],
                person_address(seat.code),
                ", ".join(titles[requirement] for requirement in seat.requirements),
            )
            for seat in drill.seats
        ),
    )


def _plan_address(drill: Drill) -> str:
    """Return the address at which the drill is planned; codes alone stand in it."""
    team = ";".join(f"{seat.role}:{seat.code}" for seat in drill.seats)
    query = {"scenario": drill.scenario, "unit": drill.unit, "team": team}
    return f"/cohort/plan?{urlencode(query)}#plan"
