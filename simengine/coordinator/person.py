"""One person's page: the next step, what is due, outcomes, sessions with debriefs, who read it.

Rules of this file:

- The person and the coordinator see the same page; the words turn to "you" for the person.
- Each reading is written down first, and the person sees by whom.
- The debrief that can be opened here is the personal one of this person, of a session that they
  took part in, and nobody else's.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from datetime import date
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from simengine.certificate.attended import attended_sessions
from simengine.cohort.competence import competence
from simengine.cohort.evidence import each_once
from simengine.cohort.records import SessionResult
from simengine.coordinator import page_words
from simengine.coordinator.attendance_rows import attended_row
from simengine.coordinator.consent_page import use_lines
from simengine.coordinator.coordinator_state import coordinator_state
from simengine.coordinator.matrix import OBJECTIVES_RULE
from simengine.coordinator.next_step import next_step
from simengine.coordinator.outcome_words import standing_of
from simengine.coordinator.pictures import PictureError
from simengine.coordinator.read_log_rows import days_row
from simengine.coordinator.record_contexts import (
    DueLine,
    ObjectiveLine,
    PersonPage,
    SessionLine,
)
from simengine.coordinator.rehearsed_words import own_rehearsed_words
from simengine.coordinator.who_may_read import OWN_PAGES, person_address, reader_of, today
from simengine.debrief.trend import Held
from simengine.debrief.words import without_entry
from simengine.people.currency import Currency
from simengine.people.decisions import Outcomes
from simengine.people.roster import Roster, Trainee
from simengine.quantities.formatting import percent
from simengine.store import Store, consents, people
from simengine.store.attendances import attendances
from simengine.store.bookings import bookings_of
from simengine.store.lists import (
    assessed,
    currency_of,
    outcomes_of,
    readings_by_day,
    sessions_of,
)
from simengine.store.own_words import not_begun
from simengine.store.shared_debriefs import shared_by
from simengine.web.app_state import state_of
from simengine.web.local_time import local_day
from simengine.web.note_read import note_read
from simengine.web.pages import page
from simengine.web.paging import ROWS, page_number, pages_onward
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor

_READS = 20
_IN_TREND = 12
_LEAST_IN_TREND = 2


async def person(request: Request) -> Response:
    """``GET /cohort/people/CODE``."""
    code = request.path_params["code"]
    visitor = reader_of(request, code)
    store = state_of(request).store
    roster, trainee = of_roster(store, code)
    number = page_number(request)
    sessions = sessions_of(store, code, offset=(number - 1) * ROWS, limit=ROWS + 1)
    if trainee is None and not sessions:
        raise RefusalError(404, "Nobody", "Nobody has this code here.")
    note_read(request, visitor, "page of one person", [code])
    day = today(request)
    address = person_address(code)
    own = not visitor.coordinator
    shared = shared_by(store, code)
    points = trend_of(_in_trend(request, visitor, code), code)
    drawn = sum(point.total is not None for point in points) >= _LEAST_IN_TREND
    competences = await asyncio.to_thread(lambda: competence(each_once(assessed(store, [code]))))
    standing = currency_of(store, roster, day) if trainee is not None else ()
    attended = attendances(store, code=code, limit=ROWS)
    certified = attended or attended_sessions(sessions)
    assessments = [session.session for session in sessions[:ROWS] if session.purpose == "summative"]
    decided = outcomes_of(store, assessments)
    data = PersonPage(
        here=address,
        readers=OWN_PAGES,
        code=code,
        name="" if own or trainee is None else trainee.name,
        own=own,
        about="not on the roster" if trainee is None else page_words.about(trainee, day),
        back=() if own else _back(trainee, day),
        next=next_step(
            code,
            standing,
            {requirement.id: requirement.title for requirement in roster.requirements},
            day,
            own=own,
            ahead=next(
                (booking for booking in bookings_of(store, code, day) if not booking.done), None
            ),
        ),
        due=due_lines(roster, standing, day),
        objectives=tuple(
            ObjectiveLine(attained.title, page_words.sign_of(attained), attained.words())
            for (whose, _), attained in sorted(
                competences.items(), key=lambda item: item[1].title.lower()
            )
            if whose == code
        ),
        objectives_rule=OBJECTIVES_RULE,
        ahead=tuple(
            (f"{address}/words/{session}", title) for session, title in not_begun(store, code)
        )
        if own
        else (),
        sessions=tuple(
            _line(
                session,
                code,
                address,
                shared.get(session.session, ""),
                decided.get(session.session),
                own=own,
            )
            for session in sessions[:ROWS]
        ),
        pages=pages_onward(address, {}, number, len(sessions)),
        attended=tuple(attended_row(attendance) for attendance in attended),
        certificate="" if own or not certified else f"{address}/attendance.pdf",
        trend=f"{address}/trend.svg" if drawn else "",
        trend_words=_trend_words(points),
        practice=own_rehearsed_words(store, code, day),
        uses=use_lines(consents.of_person(store, code)),
        reads=tuple(
            days_row(reading, code if own else "")
            for reading in readings_by_day(store, code, limit=_READS)
        ),
    )
    return page(request, "cohort/person.html.j2", data)


async def trend(request: Request) -> Response:
    """``GET /cohort/people/CODE/trend.svg``."""
    code = request.path_params["code"]
    visitor = reader_of(request, code)  # part of the page, whose reading has been written down
    points = trend_of(_in_trend(request, visitor, code), code)
    try:
        drawn = await coordinator_state(request).pictures.trend(points)
    except PictureError as error:
        raise RefusalError(500, "No picture", "It could not be drawn.") from error
    return Response(drawn, media_type="image/svg+xml")


def _in_trend(request: Request, visitor: Visitor, code: str) -> Sequence[SessionResult]:
    """Return the sessions whose figures a visitor may see: the learner all, others assessments."""
    latest = sessions_of(state_of(request).store, code, offset=0, limit=_IN_TREND)
    if not visitor.coordinator:
        return latest
    return [session for session in latest if session.purpose == "summative"]


def of_roster(store: Store, code: str) -> tuple[Roster, Trainee | None]:
    """Return what the roster says of one person: them alone, and what concerns everybody."""
    roster = people.roster_of(store, code=code)
    return roster, roster.trainees[0] if roster.trainees else None


def due_lines(roster: Roster, standing: Sequence[Currency], day: date) -> tuple[DueLine, ...]:
    """Return where the one person of a roster stands, the most urgent first."""
    titles = {
        requirement.id: page_words.role_words(requirement) for requirement in roster.requirements
    }
    return tuple(
        DueLine(
            titles[entry.requirement],
            page_words.SIGNS[entry.status],
            page_words.due_words(entry, day),
            page_words.last_words(entry),
            page_words.note_words(entry),
        )
        for entry in sorted(standing, key=page_words.in_order)
    )


def _back(trainee: Trainee | None, day: date) -> tuple[tuple[str, str], ...]:
    """Return the lists that a person stands in: of the unit, where there is one."""
    unit = "" if trainee is None else page_words.unit_on(trainee, day)
    query = f"?{urlencode({'unit': unit})}" if unit else ""
    where = f", {unit}" if unit else ""
    return (
        (f"/cohort{query}", f"Who is current{where}"),
        (f"/cohort/matrix{query}", f"People and objectives{where}"),
    )


def trend_of(results: Sequence[SessionResult], code: str) -> list[Held]:
    """Return sessions, newest first, as points of one person's trend, oldest first."""
    points = []
    for result in reversed(results):
        own = [
            item
            for item in result.items
            if item.person == code and item.applied and not without_entry(item.kind, item.verdict)
        ]
        counted = [item for item in own if item.credit is not None]
        weight = sum(item.weight for item in counted)
        gained = sum(item.weight * (item.credit or 0.0) for item in counted)
        points.append(
            Held(
                date=local_day(result.wall),
                scenario=result.scenario_title,
                total=result.total,
                interval=result.interval,
                own=gained / weight if weight else None,
                own_items=len(own),
            )
        )
    return points


def _trend_words(points: Sequence[Held]) -> str:
    if len(points) < _LEAST_IN_TREND:
        return ""
    sentences = [
        f"{point.date}, {point.scenario}: team {percent(point.total)}, "
        + (f"own {percent(point.own)}" if point.own_items else "own items none confirmed")
        for point in points
    ]
    return (
        "Team and own share in each session, in order of time; scenarios differ in difficulty. "
        f"{'; '.join(sentences)}."
    )


def _line(
    result: SessionResult,
    code: str,
    address: str,
    shared: str,
    decided: Outcomes | None,
    *,
    own: bool,
) -> SessionLine:
    roles = [role for role, codes in result.team.items() if code in codes]
    standing = "record confirmed" if result.confirmed else "record not confirmed yet"
    if result.closed != "finished":
        standing = f"{result.closed or 'not ended'}; {standing}"
    sign, note = (None, "") if decided is None else standing_of(decided, result.outcome, code)
    debrief = f"{address}/debrief/{result.session}"
    opens = own or shared or result.purpose == "summative"
    return SessionLine(
        when=local_day(result.wall),
        scenario=result.scenario_title,
        purpose=page_words.PURPOSES[result.purpose],
        roles=", ".join(role.replace("_", " ") for role in roles),
        standing=standing,
        sign=sign,
        note=note,
        debrief=debrief if opens else "",
        pdf=f"{debrief}.pdf" if opens else "",
        shared=local_day(shared) if shared else "",
        sharing=debrief if own and result.purpose != "summative" else "",
        outcome=f"/cohort/outcomes/{result.session}" if result.purpose == "summative" else "",
        words=f"{address}/words/{result.session}" if own else "",
    )
