"""Attendance without a score, and the certificate of attendance.

Rules of this file:

- Who was there is told by code or by name, one after the other; nothing is kept while one of them
  is nobody's, or more than one person's.
- Attendance makes nobody current: it says that they were there.
- A certificate is issued by the coordinator. It counts sessions that were held and ended here, but
  for rehearsals, and what was recorded as attended. Its PDF is made in a process of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import date

from starlette.requests import Request
from starlette.responses import Response

from simengine.certificate.attended import attended_sessions, of_attendance, of_session
from simengine.certificate.build_certificate import Certificate
from simengine.certificate.draw_certificate import as_json
from simengine.coordinator.attendance_rows import attended_row
from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.page_words import about
from simengine.coordinator.person import of_roster
from simengine.coordinator.planning_contexts import AttendancePage
from simengine.coordinator.typed_people import codes_of
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, coordinator, today
from simengine.people.roster import Attendance, Trainee
from simengine.quantities.formatting import count
from simengine.report.files import safe_name
from simengine.store import StoreError, people
from simengine.store.attendances import add_attendances, attendances, remove_attendance
from simengine.store.bookings import tick
from simengine.store.lists import is_known, sessions_of
from simengine.store.settings import ISSUER, setting
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import form_of
from simengine.web.note_read import note_read
from simengine.web.own_process import EndedBadlyError, ran
from simengine.web.pages import page, see
from simengine.web.paging import ROWS, page_number, pages_onward
from simengine.web.refusal import RefusalError

PATH = "/cohort/attendance"
_DRAW = "from simengine.certificate.draw_certificate import main; main()"
_MOST_MINUTES = 1440
_MOST_WORDS = 120
_MOST_SESSIONS = 1000
_FIELDS = ("who", "day", "title", "minutes", "place", "booking")


async def attendance(request: Request) -> Response:
    """``GET /cohort/attendance``; ``who``, ``day``, ``title`` … fill in the form."""
    coordinator(request)
    query = request.query_params
    filled = {name: query.get(name, "")[:2000] for name in _FIELDS}
    kept = query.get("kept", "")
    many = int(kept) if kept.isascii() and kept.isdigit() and len(kept) < 5 else 0
    words = say("attendance_kept", people=count(many, "person", "people")) if many else ""
    return await _drawn(request, (), filled, kept=words)


async def change(request: Request) -> Response:
    """``POST /cohort/attendance``: ``do`` is ``add`` or ``remove``."""
    visitor = coordinator(request)
    form = await form_of(request, visitor)
    store = state_of(request).store
    if form.get("do") == "remove":
        day = _day(form.get("day", ""))
        if day is not None:
            remove_attendance(store, form.get("code", ""), day, form.get("title", ""))
        return see(PATH)
    attendances_read, problems = read_attendances(
        form, people.roster(store).trainees, today(request)
    )
    if problems:
        return await _drawn(request, tuple(problems), form, status=422)
    add_attendances(store, attendances_read)
    if form.get("booking"):
        tick_planned(request, form["booking"])
    return see(f"{PATH}?kept={len(attendances_read)}")


async def certificate(request: Request) -> Response:
    """``GET /cohort/people/CODE/attendance.pdf``; ``session``, ``since`` and ``until`` choose."""
    visitor = coordinator(request)
    code = request.path_params["code"]
    store = state_of(request).store
    if not is_known(store, code):
        raise RefusalError(404, "Nobody", "Nobody has this code here.")
    query = request.query_params
    _, trainee = of_roster(store, code)
    held = attended_sessions(sessions_of(store, code, offset=0, limit=_MOST_SESSIONS))
    attended = [
        *((of_session(result), result.session) for result in held),
        *((of_attendance(attendance), "") for attendance in attendances(store, code=code)),
    ]
    session = query.get("session", "")
    since = _day(query.get("since", "")) or date.min
    until = _day(query.get("until", "")) or date.max
    chosen = tuple(
        entry
        for entry, whose in attended
        if since <= entry.day <= until and (not session or whose == session)
    )
    if not chosen:
        raise RefusalError(
            404,
            "Nothing was attended",
            "No session and no other training is on record for this person in that time.",
        )
    note_read(request, visitor, "certificate of attendance", [code])
    day = today(request)
    drawn_up = Certificate(
        code=code,
        name="" if trainee is None else trainee.name,
        about="" if trainee is None else about(trainee, day),
        issued=day,
        issuer=setting(store, ISSUER) or "",
        attended=chosen,
    )
    try:
        pdf = await ran(_DRAW, told=as_json(drawn_up))
    except EndedBadlyError as error:
        raise RefusalError(500, "No certificate", "It could not be made.") from error
    name = f"attendance-{safe_name(code)}.pdf"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(pdf, media_type="application/pdf", headers=headers)


def tick_planned(request: Request, id_: str) -> None:
    """Tick off the planned session that people attended; one that is gone is no error."""
    state = state_of(request)
    with suppress(StoreError):
        tick(state.store, id_, wall(state.clock.wall_ms()))


def read_attendances(
    form: Mapping[str, str], trainees: Sequence[Trainee], day: date
) -> tuple[list[Attendance], list[str]]:
    """Return what a form tells of who attended what, and what is wrong with it."""
    problems = []
    held = _day(form.get("day", ""))
    if held is None or held > day:
        typed = form.get("day", "")
        problems.append(
            f"Day: expected a day up to today, such as {day.isoformat()}, found '{typed}'."
        )
    title = _line(form, "title")
    if not title:
        problems.append("What was attended: say it in a few words.")
    minutes = form.get("minutes", "").strip()
    if not (minutes.isascii() and minutes.isdigit() and 1 <= int(minutes) <= _MOST_MINUTES):
        problems.append(
            f"How long: expected whole minutes from 1 to {_MOST_MINUTES}, found '{minutes[:20]}'."
        )
    codes, wrong = codes_of(form.get("who", ""), trainees)
    problems += wrong
    if not codes and not wrong:
        problems.append("Who was there: give codes or names, one per line.")
    if problems or held is None:
        return [], problems
    place = _line(form, "place")
    return [Attendance(code, held, title, int(minutes), place) for code in codes], []


async def _drawn(
    request: Request,
    problems: tuple[str, ...],
    filled: Mapping[str, str],
    *,
    kept: str = "",
    status: int = 200,
) -> Response:
    state = state_of(request)
    visitor = coordinator(request)
    number = page_number(request)
    listed = attendances(state.store, offset=(number - 1) * ROWS, limit=ROWS + 1)
    names = {trainee.code: trainee.name for trainee in people.roster(state.store).trainees}
    scenarios = (await state.shelf.checked()).scenarios
    note_read(
        request, visitor, "list of attendances", sorted({entry.code for entry in listed[:ROWS]})
    )
    data = AttendancePage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        problems=problems,
        filled={**filled, "day": filled.get("day") or today(request).isoformat()},
        titles=tuple(dict.fromkeys(scenario.title for scenario in scenarios)),
        kept=kept,
        rows=tuple(attended_row(entry, names.get(entry.code, "")) for entry in listed[:ROWS]),
        pages=pages_onward(PATH, {}, number, len(listed)),
    )
    return page(request, "cohort/attendance.html.j2", data, status=status)


def _line(form: Mapping[str, str], name: str) -> str:
    return " ".join(form.get(name, "").split())[:_MOST_WORDS]


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
