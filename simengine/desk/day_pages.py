"""A day's plan: groups by scenarios by stations, to start from and to tick off.

Rules of this file:

- It is made of the same sessions to come that the coordinator plans
  (``simengine.people.bookings``), so that a plan made there is started from here.
- One touch begins a session: its team is seated in the scenario's roles, and the prebrief opens.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import NamedTuple

from starlette.requests import Request
from starlette.responses import Response

from simengine.desk.again import planned_anew
from simengine.desk.desk_state import desk_of
from simengine.desk.hub import NoSessionError
from simengine.desk.let_in import facilitator
from simengine.desk.session_plan import SessionPlan, purpose_of
from simengine.desk.view import BookingRow, DayPage
from simengine.desk.who_is_here import today
from simengine.people.bookings import Booking, NamedTeam, new_booking_id, read_time, seated
from simengine.people.day_plan import clock_time, rounds, spread
from simengine.quantities.formatting import day as day_words
from simengine.store import StoreError
from simengine.store.bookings import begun, book, booking, bookings_on, cancel, tick
from simengine.store.spelt import unit_spelt
from simengine.store.teams import drop_team, teams
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import form_of
from simengine.web.pages import page, see
from simengine.web.refusal import RefusalError

_MOST_SESSIONS = 60
_MOST_TEAMS = 100
_MOST_MINUTES = 480


async def day(request: Request) -> Response:
    """``GET /day?on=DAY``."""
    facilitator(request)
    return _drawn(request, _day(request.query_params.get("on", ""), today(request)), (), {})


async def make(request: Request) -> Response:
    """``POST /day``: book every group through every scenario."""
    visitor = facilitator(request)
    form = await form_of(request, visitor)
    on = _day(form.get("on", ""), today(request))
    problems: list[str] = []
    several = _bookings(request, form, on, problems)
    if problems:
        return _drawn(request, on, tuple(problems), form, 422)
    book(state_of(request).store, several)
    return see(f"/day?on={on.isoformat()}")


async def change(request: Request) -> Response:
    """``POST /bookings/ID`` with ``do``: begin, tick, untick or cancel."""
    visitor = facilitator(request)
    form = await form_of(request, visitor)
    state = state_of(request)
    planned = booking(state.store, request.path_params["booking"])
    if planned is None:
        raise RefusalError(404, "No longer planned", "This session is on no day's plan any more.")
    what = form.get("do", "")
    if what == "begin":
        return see(f"/s/{_begun(request, planned).session}/prebrief")
    try:
        if what in ("tick", "untick"):
            tick(state.store, planned.id, wall(state.clock.wall_ms()) if what == "tick" else None)
        elif what == "cancel":
            cancel(state.store, planned.id)
    except StoreError as error:
        raise RefusalError(409, "No longer planned", str(error)) from error
    return see(f"/day?on={planned.day.isoformat()}")


async def drop(request: Request) -> Response:
    """``POST /teams`` with ``drop``, a kept team's name, and ``on``: keep it no longer."""
    visitor = facilitator(request)
    form = await form_of(request, visitor)
    drop_team(state_of(request).store, form.get("drop", ""))
    return see(f"/day?on={_day(form.get('on', ''), today(request)).isoformat()}")


def rows_of(request: Request, on: date) -> tuple[BookingRow, ...]:
    """Return a day's plan as it is shown."""
    state = state_of(request)
    titles = {scenario.id: scenario.title for scenario in state.shelf.look().scenarios}
    return tuple(
        BookingRow(
            id=booking.id,
            starts=booking.starts,
            place=booking.place,
            title=titles.get(booking.scenario, booking.scenario),
            team=booking.team_name,
            people=booking.people,
            standing="begun" if booking.session else "held" if booking.ticked else "open",
            address=_address(request, booking),
        )
        for booking in bookings_on(state.store, on)
    )


def _address(request: Request, planned: Booking) -> str:
    """Return where the session that was begun from it stands now."""
    if planned.session is None:
        return ""
    try:
        running = desk_of(request).hub.running(planned.session)
    except NoSessionError:
        return ""
    part = "/prebrief" if running.live is None else "/review" if running.closed else ""
    return f"/s/{planned.session}{part}"


def _begun(request: Request, booked: Booking) -> SessionPlan:
    hub, store = desk_of(request).hub, state_of(request).store
    if booked.session is not None:  # a second touch
        try:
            return hub.plan_of(booked.session)
        except NoSessionError:
            pass

    def planned() -> SessionPlan:
        scenario = hub.shelf.scenario(booked.scenario, protocol="", gestation="", weight="")
        return hub.plan(
            scenario,
            protocol="",
            gestation="",
            weight="",
            purpose=booked.purpose,
            real_cot=True,
            team=seated(booked.team, scenario.roles),
            unit=booked.unit,
        )

    made = planned_anew(planned)
    begun(store, booked.id, made.session)
    return made


class _Typed(NamedTuple):
    """What is wanted of a day, as it was typed."""

    first: str
    minutes: int
    gap: int
    groups: list[NamedTeam]
    scenarios: list[str]
    stations: list[str]


def _bookings(
    request: Request, form: Mapping[str, str], on: date, problems: list[str]
) -> list[Booking]:
    typed = _typed(request, form, problems)
    purpose = purpose_of(form.get("purpose", ""), problems)
    number = len(typed.groups) * len(typed.scenarios)
    if number > _MOST_SESSIONS:
        problems.append(f"At most {_MOST_SESSIONS} sessions at once, found {number}.")
    if purpose == "rehearsal":
        problems.append("What it is for: expected formative or summative, found 'rehearsal'.")
    if problems or purpose == "rehearsal":
        return []
    stations = spread(typed.stations, len(typed.stations) or 1)
    out: list[Booking] = []
    for turn in rounds(len(typed.groups), len(typed.scenarios), len(stations)):
        try:
            starts = clock_time(typed.first, turn.number * (typed.minutes + typed.gap))
        except ValueError as error:
            problems.append(f"{str(error).capitalize()}: begin earlier, or plan fewer.")
            return []
        for group, scenario, station in turn.sessions:
            team = typed.groups[group]
            out.append(
                Booking(
                    id=new_booking_id(),
                    day=on,
                    scenario=typed.scenarios[scenario],
                    starts=starts,
                    minutes=typed.minutes,
                    place=stations[station] if typed.stations else "",
                    unit=unit_spelt(state_of(request).store, form.get("unit", "")),
                    purpose=purpose,
                    team_name=team.name,
                    team=team.team,
                )
            )
    return out


def _typed(request: Request, form: Mapping[str, str], problems: list[str]) -> _Typed:
    state = state_of(request)
    kept = [team for team in teams(state.store, limit=_MOST_TEAMS) if form.get(f"team.{team.name}")]
    kept.sort(key=lambda person: person.name.casefold())
    groups = [*kept, *(NamedTeam(name, {}) for name in _names(form.get("groups", "")))]
    scenarios = [
        scenario.id
        for scenario in state.shelf.look().scenarios
        if form.get(f"scenario.{scenario.id}")
    ]
    if not groups:
        problems.append("Choose at least one team, or write down what the groups are called.")
    if not scenarios:
        problems.append("Choose at least one scenario.")
    first = ""
    try:
        first = read_time(form.get("first", "")) or "08:00"
    except ValueError as error:
        problems.append(f"First session: {error}.")
    minutes = _minutes(form.get("minutes", ""), "Each session", 1, problems)
    gap = _minutes(form.get("gap", ""), "Between two sessions", 0, problems)
    return _Typed(first, minutes, gap, groups, scenarios, _names(form.get("stations", "")))


def _names(typed: str) -> list[str]:
    names = (" ".join(name.split())[:40] for name in typed.replace("\n", ",").split(","))
    return [name for name in dict.fromkeys(names) if name]


def _minutes(typed: str, what: str, least: int, problems: list[str]) -> int:
    if typed.isascii() and typed.isdigit() and least <= int(typed) <= _MOST_MINUTES:
        return int(typed)
    problems.append(
        f"{what}: expected whole minutes from {least} to {_MOST_MINUTES}, found '{typed[:20]}'."
    )
    return least


def _day(typed: str, instead: date) -> date:
    try:
        return date.fromisoformat(typed)
    except ValueError:
        return instead


def _drawn(
    request: Request,
    on: date,
    problems: tuple[str, ...],
    filled: Mapping[str, str],
    status: int = 200,
) -> Response:
    state = state_of(request)
    before, after = (on + timedelta(days=step) for step in (-1, 1))
    data = DayPage(
        day=on.isoformat(),
        words="Today" if on == today(request) else day_words(on),
        before=f"/day?on={before.isoformat()}",
        after=f"/day?on={after.isoformat()}",
        rows=rows_of(request, on),
        scenarios=tuple((scenario.id, scenario.title) for scenario in state.shelf.look().scenarios),
        teams=tuple(sorted(team.name for team in teams(state.store, limit=_MOST_TEAMS))),
        problems=problems,
        filled={name: value[:2000] for name, value in filled.items() if name != "csrf_token"},
    )
    return page(request, "day.html.j2", data, status=status)
