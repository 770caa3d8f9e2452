"""People × objectives, or × requirements: a page of people at a time.

Rules of this file:

- A cell is a word with a sign and what it rests on; never a bare percentage. What rests on too few
  attempts says so.
- Only the people of the page are looked at, so the page does not grow with the store.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from datetime import date

from starlette.requests import Request
from starlette.responses import Response

from simengine.cohort.chance import SURE, TARGET
from simengine.cohort.competence import Competence, Key, competence
from simengine.cohort.evidence import LEAST_SCENARIOS, each_once
from simengine.cohort.too_few import FEW as FEW_ATTEMPTS
from simengine.coordinator import page_words
from simengine.coordinator.contexts import Cell, Choice, MatrixPage, MatrixRow
from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.home import filters_of, fits, roster_asked
from simengine.coordinator.which_unit import list_of_people
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, person_address, today
from simengine.people.currency import STATUSES, Currency
from simengine.people.roster import Roster, Trainee
from simengine.quantities.formatting import percent
from simengine.store import Store
from simengine.store.lists import assessed, currency_of
from simengine.web.app_state import state_of
from simengine.web.note_read import note_read
from simengine.web.pages import page
from simengine.web.paging import ROWS, page_number, pages_of
from simengine.web.security import Visitor

PATH = "/cohort/matrix"
_LEGEND = (
    page_words.LIKELY,
    page_words.OPEN,
    page_words.UNLIKELY,
    page_words.FEW,
    page_words.NO_ATTEMPT,
)
OBJECTIVES_RULE = say(
    "rule_objectives",
    attempts=FEW_ATTEMPTS,
    scenarios=LEAST_SCENARIOS,
    sure=percent(SURE),
    target=percent(TARGET),
)
_REQUIREMENTS_RULE = say("rule_requirements")


@list_of_people(PATH)
async def matrix(request: Request, visitor: Visitor, unit: Choice) -> Response:
    """``GET /cohort/matrix``."""
    store, day, query = state_of(request).store, today(request), request.query_params
    roster = roster_asked(store, unit)
    filters = filters_of(roster, query, unit)
    chosen = {choice.name: choice.chosen for choice in filters}
    trainees = [
        trainee
        for trainee in roster.trainees
        if page_words.in_service(trainee, day) and fits(trainee, day, chosen)
    ]
    trainees.sort(
        key=lambda trainee: (page_words.unit_on(trainee, day), trainee.name or trainee.code)
    )
    by_need = query.get("by") == "requirements"
    if by_need:
        chosen["by"] = "requirements"
    pages = pages_of(PATH, chosen, page_number(request), len(trainees))
    shown = trainees[max(0, pages.first - 1) : max(0, pages.first - 1) + ROWS]
    note_read(
        request, visitor, "list of people and objectives", [trainee.code for trainee in shown]
    )
    # figures of many people are worked out beside the event loop, which serves running sessions
    columns, cells = (
        await asyncio.to_thread(_by_need, store, roster, shown, day)
        if by_need
        else await asyncio.to_thread(_by_objective, store, shown)
    )
    data = MatrixPage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        what="requirements" if by_need else "objectives",
        ways=(
            (PATH, "Objectives", not by_need),
            (f"{PATH}?by=requirements", "Requirements", by_need),
        ),
        columns=columns,
        filters=filters,
        rows=tuple(_row(trainee, cells[trainee.code], day) for trainee in shown),
        legend=(*(page_words.SIGNS[status] for status in STATUSES), page_words.NOT_ASKED)
        if by_need
        else _LEGEND,
        rules=_REQUIREMENTS_RULE if by_need else OBJECTIVES_RULE,
        pages=pages,
    )
    return page(request, "cohort/matrix.html.j2", data)


Cells = Mapping[str, tuple[Cell, ...]]


def _by_objective(store: Store, shown: Sequence[Trainee]) -> tuple[tuple[str, ...], Cells]:
    codes = [trainee.code for trainee in shown]
    competences = competence(each_once(assessed(store, codes)))
    titles: dict[str, str] = {}
    for (_, objective), attained in competences.items():
        titles.setdefault(objective, attained.title)
    objectives = sorted(titles, key=lambda name: titles[name].lower())
    cells = {code: tuple(_cell(competences, (code, name)) for name in objectives) for code in codes}
    return tuple(titles[name] for name in objectives), cells


def _cell(competences: Mapping[Key, Competence], key: Key) -> Cell:
    shown = competences.get(key)
    return Cell(page_words.sign_of(shown), page_words.attempts_words(shown))


def _by_need(
    store: Store, roster: Roster, shown: Sequence[Trainee], day: date
) -> tuple[tuple[str, ...], Cells]:
    codes = [trainee.code for trainee in shown]
    some = Roster(tuple(shown), roster.requirements, roster.leaves, roster.certificates)
    standing = {(entry.code, entry.requirement): entry for entry in currency_of(store, some, day)}
    cells = {
        code: tuple(_need(standing.get((code, need.id)), day) for need in roster.requirements)
        for code in codes
    }
    return tuple(page_words.role_words(need) for need in roster.requirements), cells


def _need(entry: Currency | None, day: date) -> Cell:
    if entry is None:
        return Cell(page_words.NOT_ASKED, "")
    return Cell(page_words.SIGNS[entry.status], page_words.due_words(entry, day))


def _row(trainee: Trainee, cells: tuple[Cell, ...], day: date) -> MatrixRow:
    return MatrixRow(
        trainee.code,
        trainee.name,
        person_address(trainee.code),
        " · ".join(part for part in (trainee.code, page_words.about(trainee, day)) if part),
        cells,
    )
