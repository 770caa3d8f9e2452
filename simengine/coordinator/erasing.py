"""Erasing one person: what goes and what stays, told first; then the code typed to mean it.

Rules of this file:

- Whatever holds the code beside the store goes too: sessions in memory, debriefs and reports that
  were made here, one-time codes.
- It holds up the store for a while, so nothing is erased while a session runs.
"""

from __future__ import annotations

import asyncio

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.coordinator_state import coordinator_state
from simengine.coordinator.record_contexts import ErasePage
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, coordinator, person_address
from simengine.quantities.formatting import count
from simengine.store.erase import Erased, erase
from simengine.store.lists import is_known, sessions_taken
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import form_of
from simengine.web.pages import message, page
from simengine.web.refusal import RefusalError

_MOST_LEFT = 10
_STAYS = (
    say("erase_stays_sessions"),
    say("erase_stays_figures"),
    say("erase_stays_sealed"),
    say("erase_stays_files"),
)


async def ask(request: Request) -> Response:
    """``GET /cohort/people/CODE/erase``."""
    coordinator(request)
    code = request.path_params["code"]
    _known(request, code)
    return page(request, "cohort/erase.html.j2", _page(request, code, ()))


async def do(request: Request) -> Response:
    """``POST /cohort/people/CODE/erase``."""
    visitor = coordinator(request)
    form = await form_of(request, visitor)
    code = request.path_params["code"]
    _known(request, code)
    state = state_of(request)
    problem = ""
    if form.get("typed", "").strip() != code:
        problem = f"Nothing was erased: the code typed was not {code}."
    elif state.sessions.any_runs():
        problem = "Nothing was erased: a session is running. Erase once it has ended."
    if problem:
        data = _page(request, code, (problem,))
        return page(request, "cohort/erase.html.j2", data, status=422)
    state.sessions.let_go()
    await state.results.made()  # no result with the code may come afterwards
    try:
        now = wall(state.clock.wall_ms())
        done = await asyncio.to_thread(erase, state.store, code, wall=now)
    finally:
        state.sessions.take_up()
    for session in done.sessions:
        state.debriefs.forget(session)
    coordinator_state(request).reports.forget()
    state.tickets.forget(code)
    title = f"{code} has been erased"
    return message(request, 200, title, *_done(done), way="/cohort")


def _known(request: Request, code: str) -> None:
    if not is_known(state_of(request).store, code):
        raise RefusalError(404, "Nobody", "Nobody has this code here.")


def _page(request: Request, code: str, problems: tuple[str, ...]) -> ErasePage:
    address = person_address(code)
    sessions = count(sessions_taken(state_of(request).store, code), "session")
    return ErasePage(
        here=f"{address}/erase",
        readers=COORDINATOR_ALONE,
        code=code,
        address=address,
        goes=(
            say("erase_goes_roster"),
            say("erase_goes_code", sessions=sessions),
            say("erase_goes_name"),
            say("erase_goes_reports"),
        ),
        stays=_STAYS,
        problems=problems,
    )


def _done(erased: Erased) -> tuple[str, ...]:
    counts = [f"{number} {what}" for what, number in erased.removed.items() if number]
    words = [
        say("erased_removed", rows=", ".join(counts) or say("erased_no_rows")),
        say(
            "erased_sealed",
            logs=count(len(erased.sessions), "session log"),
            entries=count(erased.events, "entry", "entries"),
        ),
    ]
    if erased.signatures:
        signed = count(erased.signatures, "signature")
        words.append(say("erased_signatures", signatures=signed))
    if erased.left:
        texts = "; ".join(f"“{text.words[:80]}”" for text in erased.left[:_MOST_LEFT])
        left = count(len(erased.left), "free text")
        words.append(say("erased_left", texts=left, shown=texts))
    return tuple(words)
