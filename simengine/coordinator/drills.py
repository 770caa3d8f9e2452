"""The fewest drills that would bring most people up to date, unit by unit.

Rules of this file:

- Asked is whatever is due, overdue or was never met. What the drills are is decided by
  ``people.drills``.
- The page shows the first ``MOST`` drills, so that it does not grow with the roster.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from datetime import date

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.contexts import Choice, DrillRow, DrillsPage, SeatRow
from simengine.coordinator.doors import COORDINATOR_ALONE, coordinator, person_address, today
from simengine.coordinator.home import filters_of, fits, part_of, roster_asked
from simengine.coordinator.page_words import unit_on
from simengine.coordinator.which_unit import unit_asked, unit_first
from simengine.people.currency import Currency, to_do
from simengine.people.drills import Drill, Drills, fewest_drills
from simengine.people.played_roles import played_roles
from simengine.people.roster import Roster
from simengine.quantities.wording import count
from simengine.store.lists import currency_of
from simengine.web.app_state import state_of
from simengine.web.pages import page
from simengine.web.shelf import ShelfScenario
from simengine.web.who_read import note_read

PATH = "/cohort/drills"
MOST = 30


async def drills(request: Request) -> Response:
    """``GET /cohort/drills``."""
    visitor = coordinator(request)
    state = state_of(request)
    day = today(request)
    unit = unit_asked(request)
    instead = unit_first(request, PATH, unit)
    if instead is not None:
        return instead

    scenarios = {one.id: one for one in (await state.shelf.checked()).scenarios}

    def look() -> DrillsPage:
        asked = request.query_params
        roster = roster_asked(state.store, unit)
        standing = currency_of(state.store, part_of(roster, day, asked, unit), day)
        return drills_page(roster, standing, scenarios, day, asked, unit)

    data = await asyncio.to_thread(look)
    seated = [seat.code for drill in data.drills for seat in drill.seats]
    note_read(request, visitor, "drills that would bring people up to date", seated)
    return page(request, "cohort/drills.html.j2", data)


def drills_page(
    roster: Roster,
    standing: Sequence[Currency],
    scenarios: Mapping[str, ShelfScenario],
    day: date,
    asked: Mapping[str, str],
    unit: Choice,
) -> DrillsPage:
    """Return the page for the filters ``asked``: ``unit`` and profession."""
    trainees = {one.code: one for one in roster.trainees}
    filters = filters_of(roster, asked, unit)
    chosen = {one.name: one.chosen for one in filters}
    needs = [one for one in to_do(standing) if fits(trainees[one.code], day, chosen)]
    where = {code: unit_on(one, day) for code, one in trainees.items()}
    found = fewest_drills(needs, roster.requirements, where, seats_of(scenarios))
    titles = {one.id: one.title for one in roster.requirements}
    names = {code: one.name or code for code, one in trainees.items()}
    return DrillsPage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        filters=filters,
        lead=_lead(found, needs),
        drills=tuple(_row(one, scenarios, titles, names) for one in found.drills[:MOST]),
        more=max(0, len(found.drills) - MOST),
        unmet=tuple(dict.fromkeys(titles[one.requirement] for one in found.unmet)),
    )


def seats_of(scenarios: Mapping[str, ShelfScenario]) -> dict[str, tuple[str, ...]]:
    """Return the roles of each scenario that are not played for the team.

    Scenarios with a recorded standard come first: of drills that are alike the first is taken, and
    only there can an outcome be signed.
    """
    ready = sorted(scenarios.items(), key=lambda one: not one[1].has_standard)
    return {
        name: tuple(role for role in scenario.roles if role not in played_roles())
        for name, scenario in ready
    }


def _lead(found: Drills, needs: Sequence[Currency]) -> str:
    if not needs:
        return "Nobody here is due, overdue or new to a requirement."
    people_ = len({one.code for one in needs})
    met = sum(drill.met for drill in found.drills)
    return (
        f"{count(people_, 'person needs', 'people need')} something; "
        f"{count(len(found.drills), 'drill')} would meet {met} of "
        f"{count(len(needs), 'open requirement')}, if each is achieved and signed."
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
        note = "No pass mark with a recorded standard yet, so no outcome can be signed."
    return DrillRow(
        title=scenario.title,
        unit=drill.unit,
        met=count(drill.met, "requirement"),
        note=note,
        seats=tuple(
            SeatRow(
                scenario.roles[seat.role],
                seat.code,
                names[seat.code],
                person_address(seat.code),
                ", ".join(titles[one] for one in seat.requirements),
            )
            for seat in drill.seats
        ),
    )
