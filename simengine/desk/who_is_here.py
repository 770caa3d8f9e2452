"""Who is here: people to be picked by a touch, of a unit, of recent teams or by a part of a name.

Rules of this file:

- What is picked is a code, and a code is all that goes into a plan and a log. Names stand on the
  page alone, for the coordinator and, where the coordinator allows it, for educators.
- Without a roster there are the codes of recent sessions, and codes to type as ever.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime

import orjson
from starlette.requests import Request
from starlette.responses import Response

from simengine.desk.desk_state import desk_of
from simengine.desk.let_in import facilitator
from simengine.desk.session_plan import SessionPlan
from simengine.desk.view import PersonChip
from simengine.people.bookings import people_of
from simengine.people.codes import is_erased
from simengine.store.settings import NAMES_TO_EDUCATORS, setting
from simengine.store.store import Store
from simengine.store.who_is_here import Colleague, by_code, by_part, on_unit
from simengine.web.app_state import state_of
from simengine.web.security import Visitor

MOST = 60
"""People shown at once; others are found by a part of a name or code."""

_RECENT_SESSIONS = 20
_RECENT = 16


async def people(request: Request) -> Response:
    """``GET /people?unit=UNIT&part=PART``: a unit's people, or whom a part of a name finds."""
    visitor = facilitator(request)
    unit = " ".join(request.query_params.get("unit", "").split())[:80]
    part = " ".join(request.query_params.get("part", "").split())[:80]
    listed = chips(request, visitor, unit=unit, part=part)
    body = {"people": listed[:MOST], "more": len(listed) > MOST}
    return Response(orjson.dumps(body), media_type="application/json")


def chips(
    request: Request, visitor: Visitor, *, unit: str = "", part: str = ""
) -> tuple[PersonChip, ...]:
    """Return whom to offer: whom ``part`` finds, else the unit's people and the recent ones."""
    store, day = state_of(request).store, today(request)
    names = sees_names(store, visitor)
    if part:
        return _as_chips(by_part(store, part, day, names=names, limit=MOST + 1))
    newest = desk_of(request).hub.sessions(0, _RECENT_SESSIONS)
    recent = _recent([plan for _, plan in newest])
    known = by_code(store, recent, day, names=names)
    colleagues = {code: known.get(code, Colleague(code, "", "")) for code in recent}
    if unit:
        colleagues |= {
            colleague.code: colleague
            for colleague in on_unit(store, unit, day, names=names, limit=MOST + 1)
        }
    return _as_chips(colleagues.values())


def sees_names(store: Store, visitor: Visitor) -> bool:
    """Whether a visitor sees names beside codes where a team is chosen."""
    return visitor.coordinator or bool(setting(store, NAMES_TO_EDUCATORS))


def today(request: Request) -> date:
    """Return the day that it is here."""
    wall_ms = state_of(request).clock.wall_ms()
    return datetime.fromtimestamp(wall_ms / 1000, UTC).astimezone().date()


def _recent(plans: Sequence[SessionPlan]) -> list[str]:
    codes = dict.fromkeys(code for plan in plans for code in people_of(plan.team))
    return [code for code in codes if not is_erased(code)][:_RECENT]


def _as_chips(some: Iterable[Colleague]) -> tuple[PersonChip, ...]:
    return tuple(
        PersonChip(colleague.code, colleague.name, colleague.profession) for colleague in some
    )
