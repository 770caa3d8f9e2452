"""How long records are kept, who is past it, who issues certificates, who sees names."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.contexts import PastRow, SettingsPage
from simengine.coordinator.page_words import day_words
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, coordinator, person_address, today
from simengine.people.roster import past_retention
from simengine.store import people
from simengine.store.settings import (
    ISSUER,
    NAMES_TO_EDUCATORS,
    RETENTION_MONTHS,
    SESSION_MONTHS,
    set_setting,
    setting,
)
from simengine.web.app_state import state_of
from simengine.web.forms import form_of
from simengine.web.pages import page, see

PATH = "/cohort/settings"
_MOST_MONTHS = 600
_MOST_LETTERS = 120
_LABELS = {
    RETENTION_MONTHS: "How long a person's record is kept",
    SESSION_MONTHS: "How long a session's log is kept",
}
_MOST_LISTED = 50


async def settings(request: Request) -> Response:
    """``GET /cohort/settings``."""
    coordinator(request)
    store = state_of(request).store
    months = {name: setting(store, name) for name in _LABELS}
    filled = {name: "" if number is None else str(number) for name, number in months.items()}
    filled[ISSUER] = setting(store, ISSUER) or ""
    filled[NAMES_TO_EDUCATORS] = "yes" if setting(store, NAMES_TO_EDUCATORS) else ""
    return _drawn(request, (), filled, saved=request.query_params.get("kept") == "yes")


async def change(request: Request) -> Response:
    """``POST /cohort/settings``."""
    visitor = coordinator(request)
    form = await form_of(request, visitor)
    months = {name: form.get(name, "").strip()[:20] for name in _LABELS}
    to_educators = form.get(NAMES_TO_EDUCATORS) == "yes"
    problems = tuple(
        f"{_LABELS[name]}: expected whole months from 1 to {_MOST_MONTHS}, or nothing, found "
        f"'{typed}'."
        for name, typed in months.items()
        if typed and not _is_months(typed)
    )
    issuer = " ".join(form.get(ISSUER, "").split())[:_MOST_LETTERS]
    if problems:
        filled = {**months, ISSUER: issuer, NAMES_TO_EDUCATORS: "yes" if to_educators else ""}
        return _drawn(request, problems, filled, status=422)
    set_setting(state_of(request).store, ISSUER, issuer or None)
    for name, typed in months.items():
        set_setting(state_of(request).store, name, int(typed) if typed else None)
    set_setting(state_of(request).store, NAMES_TO_EDUCATORS, to_educators or None)
    return see(f"{PATH}?kept=yes")


def _is_months(typed: str) -> bool:
    return typed.isascii() and typed.isdigit() and 1 <= int(typed) <= _MOST_MONTHS


def _drawn(
    request: Request,
    problems: tuple[str, ...],
    filled: Mapping[str, str],
    *,
    saved: bool = False,
    status: int = 200,
) -> Response:
    store = state_of(request).store
    months = setting(store, RETENTION_MONTHS)
    gone = people.leavers(store) if months is not None else ()
    past = past_retention(gone, months, today(request))
    data = SettingsPage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        problems=problems,
        filled=filled,
        saved=saved,
        past=tuple(
            PastRow(
                person.code, person.name, day_words(last), f"{person_address(person.code)}/erase"
            )
            for person, last in past[:_MOST_LISTED]
        ),
        more=max(0, len(past) - _MOST_LISTED),
    )
    return page(request, "cohort/settings.html.j2", data, status=status)
