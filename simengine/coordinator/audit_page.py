"""The audit page: what one person's outcomes rest on, link by link, made to be printed.

Rules of this file:

- The links and their words are ``people.audit``'s; here they are only gathered and drawn.
- The latest ``CHAINS`` sessions that count are told; how many are left out is said.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from simengine.cohort.evidence import doubles
from simengine.cohort.observer_agreement import observers_agree
from simengine.cohort.records import SessionResult
from simengine.coordinator import page_words
from simengine.coordinator.agreement_page import LATEST
from simengine.coordinator.contexts import Sign
from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.person import due_lines, of_roster
from simengine.coordinator.record_contexts import AuditChain, AuditLink, AuditPage
from simengine.coordinator.who_may_read import OWN_PAGES, person_address, reader_of, today
from simengine.people.audit import DOES_NOT_PROVE, Chain, Link, State
from simengine.problems import InputError
from simengine.quantities.formatting import count
from simengine.scenario.model import Scenario
from simengine.session.from_file import scenario_for
from simengine.store import Store
from simengine.store.audit import Audit
from simengine.store.audit import audit as audit_of
from simengine.store.lists import currency_of, is_known, newest_results
from simengine.web.app_state import state_of
from simengine.web.note_read import note_read
from simengine.web.pages import page
from simengine.web.refusal import RefusalError

CHAINS = 5
_SIGNS: dict[State, Sign] = {
    "there": Sign("current", "●", "there"),
    "partly": Sign("due", "◆", "partly there"),
    "missing": Sign("never", "○", "missing"),
}


async def audit(request: Request) -> Response:
    """``GET /cohort/people/CODE/audit``."""
    code = request.path_params["code"]
    visitor = reader_of(request, code)
    state = state_of(request)
    roster, trainee = of_roster(state.store, code)
    if trainee is None and not is_known(state.store, code):
        raise RefusalError(404, "Nobody", "Nobody has this code here.")
    note_read(request, visitor, "audit page", [code])
    audited = await asyncio.to_thread(_found, state.store, code, state.shelf.folders)
    day = today(request)
    data = AuditPage(
        here=f"{person_address(code)}/audit",
        readers=OWN_PAGES,
        code=code,
        name=trainee.name if trainee is not None and visitor.coordinator else "",
        about="not on the roster" if trainee is None else page_words.about(trainee, day),
        day=page_words.day_words(day),
        statement=audited.statement.words,
        due=due_lines(
            roster, currency_of(state.store, roster, day) if trainee is not None else (), day
        ),
        chains=tuple(_drawn(chain) for chain in audited.chains),
        left_out=audited.older,
        not_counted=tuple(
            f"{page_words.day_words(session.day)}, {session.scenario}: {session.why}."
            for session in reversed(audited.left_out[-CHAINS:])
        ),
        does_not_prove=DOES_NOT_PROVE,
        address=person_address(code),
    )
    return page(request, "cohort/audit.html.j2", data)


def _found(store: Store, code: str, folders: Sequence[Path]) -> Audit:
    def load(ran: Mapping[str, Any]) -> Scenario | None:
        try:
            return scenario_for(ran, folders)[0]
        except InputError:
            return None

    pilots = [*(folder / "pilots" for folder in folders), Path("reports/pilots"), Path("reports")]
    observers = Observers(store)
    return audit_of(store, code, load, pilots=pilots, observers=observers.link, latest=CHAINS)


class Observers:
    """What is known of the agreement of observers, by scenario, from the latest sessions."""

    def __init__(self, store: Store) -> None:
        self._store = store

    @cached_property
    def _pairs(self) -> list[tuple[SessionResult, SessionResult]]:
        return doubles(newest_results(self._store, limit=LATEST))

    def link(self, scenario: str) -> Link:
        """Return the link of the chain that tells of observers."""
        pairs = [pair for pair in self._pairs if pair[0].scenario == scenario]
        if not pairs:
            words = say("observers_none", latest=LATEST)
            return Link("Observers", "missing", (words,))
        agreement = observers_agree(pairs)
        sentences = [say("observers_some", sessions=count(agreement.sessions, "session"))]
        if agreement.few:
            sentences.append(say("observers_few"))
        elif agreement.verdicts is not None:
            sentences.append(say("observers_kappa", kappa=f"{agreement.verdicts.value:.2f}"))
        return Link("Observers", "partly" if agreement.few else "there", tuple(sentences))


def _drawn(chain: Chain) -> AuditChain:
    roles = ", ".join(role.replace("_", " ") for role in chain.roles)
    return AuditChain(
        f"{page_words.day_words(chain.day)}: {chain.scenario}, as {roles}: “{chain.outcome}”",
        tuple(AuditLink(link.title, _SIGNS[link.state], link.words) for link in chain.links),
    )
