"""Which unit a page is of: from a list, or by name where there are too many to list.

Rules of this file:

- Up to ``LISTED`` units stand in a list. Of more, a name or a part of it is typed, and what is no
  unit's name shows the units that have it in theirs.
- What is of everybody grows with the people. With more than ``TOGETHER`` of them a list of people
  is of one unit, which is asked for first; what concerns all of them stands in the report.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from functools import wraps
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.contexts import Choice, UnitRow, UnitsPage
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, EDUCATORS_TOO, coordinator, today
from simengine.quantities.formatting import count
from simengine.store import Store, lists
from simengine.web.app_state import state_of
from simengine.web.pages import page
from simengine.web.paging import LISTED, ROWS, page_number, pages_onward
from simengine.web.security import Visitor
from simengine.web.who_asks import known_visitor

TOGETHER = 1_000
Handler = Callable[[Request], Awaitable[Response]]
OfPeople = Callable[[Request, Visitor, Choice], Awaitable[Response]]


def unit_choice(store: Store, asked: str) -> Choice:
    """Return the filter by unit; chosen is what was ``asked`` for, where there is such a unit."""
    known = lists.units(store, limit=LISTED + 1)
    name = asked.strip()
    chosen = name if lists.is_unit(store, name) else ""
    if len(known) > LISTED:
        return Choice("unit", "Unit", (), chosen, typed=True)
    options = (("", "all units"), *((unit, unit) for unit in known))
    return Choice("unit", "Unit", options, chosen)


def unit_asked(request: Request) -> Choice:
    """Return the filter by unit with what a page's address asks for."""
    return unit_choice(state_of(request).store, request.query_params.get("unit", ""))


def list_of_people(path: str) -> Callable[[OfPeople], Handler]:
    """Let the coordinator alone open a list of people, for the unit that is asked for.

    Where there are too many people for one list, a page of the units comes first.
    """

    def opened(handler: OfPeople) -> Handler:
        @wraps(handler)
        async def answer(request: Request) -> Response:
            visitor, unit = coordinator(request), unit_asked(request)
            return unit_first(request, path, unit) or await handler(request, visitor, unit)

        return answer

    return opened


def unit_first(
    request: Request, path: str, unit: Choice, *, people: bool = True
) -> Response | None:
    """Return the page on which a unit is chosen, where the page at ``path`` needs one first.

    ``unit``: what was asked for. ``people``: whether the page is a list of people.
    """
    store = state_of(request).store
    part = request.query_params.get("unit", "").strip()
    too_many = people and lists.more_people_than(store, TOGETHER)
    if unit.chosen or not (too_many or (unit.typed and part)):
        return None
    number = page_number(request)
    units = lists.units_like(
        store, part, today(request), offset=(number - 1) * ROWS, limit=ROWS + 1
    )
    visitor = known_visitor(request)
    data = UnitsPage(
        here=path,
        readers=COORDINATOR_ALONE if visitor and visitor.coordinator else EDUCATORS_TOO,
        unit=Choice("unit", "Unit", (), part, typed=True),
        many=f"more than {TOGETHER:,} people" if too_many else f"more than {LISTED} units",
        rows=tuple(
            UnitRow(
                match.unit,
                count(match.people, "person", "people"),
                _address(path, {**request.query_params, "unit": match.unit}),
            )
            for match in units[:ROWS]
        ),
        pages=pages_onward(path, {"unit": part}, number, len(units)),
    )
    return page(request, "cohort/units.html.j2", data)


def _address(path: str, query: Mapping[str, str]) -> str:
    kept = {name: value for name, value in query.items() if value and name != "page"}
    return f"{path}?{urlencode(kept)}"
