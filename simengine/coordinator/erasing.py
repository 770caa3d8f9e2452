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

from simengine.coordinator.coordinator_state import coordinator_state
from simengine.coordinator.doors import COORDINATOR_ALONE, coordinator, person_address
from simengine.coordinator.record_contexts import ErasePage
from simengine.quantities.wording import count
from simengine.store.erase import Erased, erase
from simengine.store.lists import is_known, sessions_taken
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import form_of
from simengine.web.pages import message, page
from simengine.web.refusal import RefusalError

_MOST_LEFT = 10
_STAYS = (
    "What each session tells without the person: what was done when, by whom in that session alone "
    "(a new random code for each), credits and totals. Nothing ties two sessions together.",
    "The figures of the cohort, which count people and never name them.",
    "That a log was sealed anew, when and why; the log verifies as before.",
    "Files that left this program: backups, exports, debriefs and reports that were saved or "
    "printed. Whoever holds them has to delete them.",
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
            "From the roster: name, code, stays, leave, certificates and attendance; and the list "
            "of who read the record.",
            f"The code in the records of {sessions}, whose logs are sealed anew, and wherever "
            "else it stands in an entry.",
            "The name, wherever it stands in full: in notes, appeals, owners of threats, and under "
            "outcomes of others that this person signed.",
            "Debriefs and reports that this console has made.",
        ),
        stays=_STAYS,
        problems=problems,
    )


def _done(erased: Erased) -> tuple[str, ...]:
    told = [f"{number} {what}" for what, number in erased.removed.items() if number]
    words = [
        f"Removed: {', '.join(told) or 'no rows'}.",
        f"Sealed anew: {count(len(erased.sessions), 'session log')}, in which "
        f"{count(erased.events, 'entry', 'entries')} changed.",
    ]
    if erased.signatures:
        signed = count(erased.signatures, "signature")
        words.append(f"{signed} on outcomes of others lost the name.")
    if erased.left:
        texts = "; ".join(f"“{one.words[:80]}”" for one in erased.left[:_MOST_LEFT])
        words.append(
            f"{count(len(erased.left), 'free text')} may still name this person in part (a first "
            f"name, a nickname). Look at: {texts}."
        )
    return tuple(words)
