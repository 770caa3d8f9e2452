"""The unit's figures: the four questions answered, and the whole report behind them.

Rules of this file:

- What is shown was made before, by a process of its own, and says when. The page itself only reads
  files, however much is stored.
- The coordinator's report holds trainee codes. Educators get the one that may be handed on: no
  codes, and groups of fewer than five people hidden.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import FileResponse, Response

from simengine.coordinator.coordinator_state import coordinator_state
from simengine.coordinator.page_words import day_words
from simengine.coordinator.reports import PDF, WEB_PAGE, Asked
from simengine.coordinator.unit_contexts import AnswerView, FiguresPage
from simengine.coordinator.which_unit import unit_asked, unit_choice, unit_first
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, EDUCATORS_TOO, teacher, today
from simengine.people.days import add_months
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import day_of, form_of
from simengine.web.local_time import local
from simengine.web.pages import page, see
from simengine.web.refusal import RefusalError
from simengine.web.report_answers import report_page, report_pdf

PATH = "/cohort/figures"
_USUAL_MONTHS = 12


async def figures(request: Request) -> Response:
    """``GET /cohort/figures``."""
    visitor = teacher(request)
    instead = unit_first(request, PATH, unit_asked(request), people=False)
    if instead is not None:
        return instead
    problems: list[str] = []
    wanted = _asked(request, request.query_params, not visitor.coordinator, problems)
    return _drawn(request, wanted, tuple(problems))


async def make(request: Request) -> Response:
    """``POST /cohort/figures``: begin to make the report that is asked for."""
    visitor = teacher(request)
    form = await form_of(request, visitor)
    problems: list[str] = []
    wanted = _asked(request, form, not visitor.coordinator, problems)
    if problems:
        return _drawn(request, wanted, tuple(problems), 422)
    state = state_of(request)
    coordinator_state(request).reports.begin(
        wanted, today=today(request), when=wall(state.clock.wall_ms())
    )
    days = {"since": wanted.since.isoformat(), "until": wanted.until.isoformat()}
    return see(f"{PATH}?{urlencode({'unit': wanted.unit or '', **days})}")


async def file(request: Request) -> Response:
    """``GET /cohort/figures/KEY/FILE``: the report's page, its PDF, one of its pictures."""
    visitor = teacher(request)
    reports = coordinator_state(request).reports
    key, name = request.path_params["key"], request.path_params["file"]
    made = reports.made(key)
    if made is not None and not made["published"] and not visitor.coordinator:
        raise RefusalError(403, "For the coordinator", "This report holds trainee codes.")
    path = reports.file(key, name)
    if path is None:
        raise RefusalError(404, "No such report", "Make it on the page of the unit's figures.")
    if name == WEB_PAGE:
        return report_page(path, back=(PATH, "The unit"))
    if name == PDF:
        return report_pdf(path)
    return FileResponse(path, media_type="image/svg+xml")


def _drawn(
    request: Request, wanted: Asked, problems: tuple[str, ...], status: int = 200
) -> Response:
    reports = coordinator_state(request).reports
    made = reports.made(wanted.key)
    folder = f"{PATH}/{wanted.key}"
    data = FiguresPage(
        here=PATH,
        readers=EDUCATORS_TOO if wanted.published else COORDINATOR_ALONE,
        problems=problems,
        unit=unit_choice(state_of(request).store, wanted.unit or ""),
        since=wanted.since.isoformat(),
        until=wanted.until.isoformat(),
        period=f"{wanted.unit or 'All units'}, "
        f"{day_words(wanted.since)} to {day_words(wanted.until)}",
        state=reports.state(wanted.key),
        published=wanted.published,
        when=local(made["when"]) if made is not None else "",
        notices=tuple(made["notices"]) if made is not None else (),
        answers=tuple(_answer(answer, folder) for answer in made["answers"])
        if made is not None
        else (),
        report=f"{folder}/{WEB_PAGE}" if made is not None else "",
        pdf=f"{folder}/{PDF}" if made is not None else "",
    )
    return page(request, "cohort/figures.html.j2", data, status=status)


def _answer(answer: Mapping[str, Any], folder: str) -> AnswerView:
    return AnswerView(
        answer["question"],
        answer["headline"],
        tuple(answer["sentences"]),
        f"{folder}/{answer['picture']}.svg" if answer["picture"] else "",
        answer["alt"],
    )


def _asked(
    request: Request, form: Mapping[str, str], published: bool, problems: list[str]
) -> Asked:
    """Return which report is meant: all units and the last twelve months unless told."""
    day = today(request)
    until = day_of(form.get("until", ""), "Until", problems) or day
    since = day_of(form.get("since", ""), "From", problems) or add_months(until, -_USUAL_MONTHS)
    if since > until:
        problems.append(f"From: expected a day not after {until}, found {since}.")
        since = until
    typed = form.get("unit", "").strip()
    unit = unit_choice(state_of(request).store, typed)
    if unit.typed and typed and not unit.chosen:
        problems.append(f"Unit: expected a unit of the roster, found '{typed[:80]}'.")
    return Asked(unit.chosen or None, since, until, published)
