"""How long records are kept, and who is past that time."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import Response

from simengine.console.cohort.contexts import PastRow, SettingsPage
from simengine.console.cohort.doors import COORDINATOR_ALONE, coordinator, person_address, today
from simengine.console.cohort.words import day_words
from simengine.console.front import form_of, front_of, page, see
from simengine.people.retention import past_retention
from simengine.store import people
from simengine.store.settings import RETENTION_MONTHS, set_setting, setting

PATH = "/cohort/settings"
_MOST_MONTHS = 600
_MOST_LISTED = 50


async def settings(request: Request) -> Response:
    """``GET /cohort/settings``."""
    coordinator(request)
    months = setting(front_of(request).store, RETENTION_MONTHS)
    filled = {RETENTION_MONTHS: "" if months is None else str(months)}
    return _drawn(request, (), filled, saved=request.query_params.get("kept") == "yes")


async def change(request: Request) -> Response:
    """``POST /cohort/settings``."""
    visitor = coordinator(request)
    form = await form_of(request, visitor)
    told = form.get(RETENTION_MONTHS, "").strip()
    if told and not (told.isascii() and told.isdigit() and 1 <= int(told) <= _MOST_MONTHS):
        problem = (
            f"How long a record is kept: expected whole months from 1 to {_MOST_MONTHS}, or "
            f"nothing, found '{told[:20]}'."
        )
        return _drawn(request, (problem,), {RETENTION_MONTHS: told[:20]}, status=422)
    set_setting(front_of(request).store, RETENTION_MONTHS, int(told) if told else None)
    return see(f"{PATH}?kept=yes")


def _drawn(
    request: Request,
    problems: tuple[str, ...],
    filled: Mapping[str, str],
    *,
    saved: bool = False,
    status: int = 200,
) -> Response:
    store = front_of(request).store
    past = past_retention(
        people.roster(store).trainees, setting(store, RETENTION_MONTHS), today(request)
    )
    data = SettingsPage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        problems=problems,
        filled=filled,
        saved=saved,
        past=tuple(
            PastRow(one.code, one.name, day_words(last), f"{person_address(one.code)}/erase")
            for one, last in past[:_MOST_LISTED]
        ),
        more=max(0, len(past) - _MOST_LISTED),
    )
    return page(request, "cohort/settings.html.j2", data, status=status)
