"""Run it again: the same scenario at once with the same team or the next, or with other people.

Rules of this file:

- The next team is who comes next with this scenario on the day's plan; where nothing is planned,
  the kept team whose name comes after this one's. Where neither tells, people are picked.
- A plan made anew is of the scenario as it is now. Who was erased meanwhile is not in its team.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from starlette.requests import Request
from starlette.responses import Response

from simengine.desk.desk_state import desk_of
from simengine.desk.hub import NoSessionError
from simengine.desk.let_in import facilitator
from simengine.desk.session_plan import SessionPlan
from simengine.desk.who_is_here import today
from simengine.people.bookings import Booking, Team, people_of
from simengine.people.codes import is_erased
from simengine.problems import InputError
from simengine.store.bookings import begun, bookings_on
from simengine.store.store import Store
from simengine.store.teams import teams
from simengine.web.app_state import state_of
from simengine.web.forms import form_of
from simengine.web.pages import see
from simengine.web.refusal import RefusalError


async def again(request: Request) -> Response:
    """``POST /s/ID/again``: with ``who``: ``same`` or ``next``."""
    visitor = facilitator(request)
    form = await form_of(request, visitor)
    hub = desk_of(request).hub
    session = request.path_params["session"]
    try:
        plan = hub.plan_of(session)
    except NoSessionError as error:
        raise RefusalError(404, "This session can't be run again", str(error)) from error
    if form.get("who") == "same":
        team: Team | Booking | None = _still_there(plan.team)
    else:
        team = next_team(state_of(request).store, plan, today(request))
    if team is None:
        return see(f"/?like={session}&who=others")
    people = team.team if isinstance(team, Booking) else team
    made = planned_anew(lambda: hub.plan_like(plan, people))
    if isinstance(team, Booking):
        begun(state_of(request).store, team.id, made.session)
    return see(f"/s/{made.session}/prebrief")


def planned_anew(plan: Callable[[], SessionPlan]) -> SessionPlan:
    """Plan a session of a scenario as it is now. Raises ``RefusalError`` where it can't be."""
    try:
        return plan()
    except (InputError, LookupError) as error:
        words = f"Its scenario can't be loaded any more: {error}"
        raise RefusalError(409, "This can't be run now", words) from error


def next_team(store: Store, plan: SessionPlan, day: date) -> Team | Booking | None:
    """Return who comes next with a session's scenario: of the day's plan, else a kept team."""
    here = set(people_of(plan.team))
    for booking in bookings_on(store, day):
        others = set(booking.people) != here or not here
        if booking.scenario == plan.scenario and not booking.done and others:
            return booking
    kept = sorted(teams(store, limit=None), key=lambda team: team.name.casefold())
    this = next((at for at, team in enumerate(kept) if set(team.people) == here), None)
    if this is None or len(kept) < 2:
        return None
    return kept[(this + 1) % len(kept)].team


def _still_there(team: Team) -> dict[str, tuple[str, ...]]:
    left = {
        role: tuple(code for code in codes if not is_erased(code)) for role, codes in team.items()
    }
    return {role: codes for role, codes in left.items() if codes}
