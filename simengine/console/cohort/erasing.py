"""Erasing one person: what goes and what stays, told first; then the code typed to mean it.

Rules of this file:

- The page says what a dry run found, not what we hope.
- Whatever holds the code beside the store goes too: sessions in memory, debriefs and reports that
  were made here, one-time codes.
- While the person is in a session that runs, nothing is erased: its log is being written.
"""

from __future__ import annotations

import asyncio

from starlette.requests import Request
from starlette.responses import Response

from simengine.console.clock import wall
from simengine.console.cohort.doors import COORDINATOR_ALONE, coordinator, person_address
from simengine.console.cohort.reading import note_read
from simengine.console.cohort.record_contexts import ErasePage
from simengine.console.front import RefusalError, form_of, front_of, message, page
from simengine.debrief.words import count
from simengine.store import StoreError
from simengine.store.erase import Erased, erase

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
    visitor = coordinator(request)
    code = request.path_params["code"]
    planned = await _dry_run(request, code)
    note_read(request, visitor, "what erasing would do", [code])
    return page(request, "cohort/erase.html.j2", _page(code, planned, ()))


async def do(request: Request) -> Response:
    """``POST /cohort/people/CODE/erase``."""
    visitor = coordinator(request)
    form = await form_of(request, visitor)
    code = request.path_params["code"]
    front = front_of(request)
    planned = await _dry_run(request, code)
    problem = ""
    if form.get("typed", "").strip() != code:
        problem = f"Nothing was erased: the code typed was not {code}."
    elif front.hub.in_session(planned.sessions):
        problem = (
            "Nothing was erased: this person is in a session that has not ended. End it first."
        )
    if problem:
        data = _page(code, planned, (problem,))
        return page(request, "cohort/erase.html.j2", data, status=422)
    front.hub.let_go(planned.sessions)
    try:
        now = wall(front.hub.clock.now_ms())
        done = await asyncio.to_thread(erase, front.store, code, wall=now)
    finally:
        front.hub.plans_again()
    for session in done.sessions:
        front.debriefs.forget(session)
    front.reports.forget()
    front.tickets.forget(code)
    left = (
        f"{count(len(done.left), 'free text')} may still name this person in part (a first "
        "name, a nickname). Look at: "
        + "; ".join(f"“{one.words[:80]}”" for one in done.left[:10])
        + "."
        if done.left
        else "No free text was found that may still name this person in part."
    )
    return message(request, 200, f"{code} has been erased", *_goes(done), left, way="/cohort")


async def _dry_run(request: Request, code: str) -> Erased:
    front = front_of(request)
    now = wall(front.hub.clock.now_ms())
    try:
        return await asyncio.to_thread(erase, front.store, code, wall=now, dry_run=True)
    except StoreError as error:
        raise RefusalError(404, "Nobody", f"{error}.") from error


def _page(code: str, planned: Erased, problems: tuple[str, ...]) -> ErasePage:
    address = person_address(code)
    return ErasePage(
        here=f"{address}/erase",
        readers=COORDINATOR_ALONE,
        code=code,
        address=address,
        goes=_goes(planned),
        stays=_STAYS,
        problems=problems,
    )


def _goes(erased: Erased) -> tuple[str, ...]:
    told = [f"{number} {what}" for what, number in erased.removed.items() if number]
    goes = [
        "From the roster: name, code, stays, leave and certificates; and the list of who read the "
        f"record ({', '.join(told) or 'no rows'}).",
        f"The code in {count(len(erased.sessions), 'session log')} "
        f"({count(erased.events, 'entry', 'entries')}), which are sealed anew.",
    ]
    if erased.signatures:
        signed = count(erased.signatures, "signature")
        goes.append(f"The name under {signed} that this person gave on outcomes of others.")
    if erased.texts:
        goes.append(f"The code and the name in {count(erased.texts, 'other text')}.")
    goes.append("Debriefs and reports that this console has made.")
    return tuple(goes)
