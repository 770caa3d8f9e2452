"""One page for the privacy officer: what is kept until when, who agreed to what, who read what."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.consent_page import answer_of, title_of
from simengine.coordinator.contexts import (
    AgreedRow,
    KeptRow,
    PersonSaidRow,
    PrivacyPage,
    UseCount,
)
from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.read_log_rows import read_row
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, coordinator, person_address, today
from simengine.people.consent import USES
from simengine.people.roster import past_retention
from simengine.quantities.formatting import count
from simengine.store import consents, people, prebriefs
from simengine.store.lists import planned, readings
from simengine.store.log_store import Stored
from simengine.store.settings import RETENTION_MONTHS, SESSION_MONTHS, setting
from simengine.store.store import Store
from simengine.web.app_state import state_of
from simengine.web.local_time import local
from simengine.web.pages import page
from simengine.web.paging import ROWS, page_number, pages_onward

PATH = "/cohort/privacy"
_LATEST = 20


async def privacy(request: Request) -> Response:
    """``GET /cohort/privacy``."""
    coordinator(request)
    store = state_of(request).store
    number = page_number(request)
    sessions = planned(store, offset=(number - 1) * ROWS, limit=ROWS + 1)
    data = PrivacyPage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        kept=_kept(request, store),
        agreed=_agreed(store, sessions[:ROWS]),
        pages=pages_onward(PATH, {}, number, len(sessions)),
        said=tuple(
            PersonSaidRow(
                local(consent.wall),
                consent.code,
                person_address(consent.code),
                title_of(consent.use),
                answer_of(consent),
            )
            for consent in consents.latest(store, limit=_LATEST)
        ),
        uses=tuple(
            UseCount(
                title_of(use),
                len(consents.who(store, use, given=True)),
                len(consents.who(store, use, given=False)),
            )
            for use in USES
        ),
        read=tuple(
            read_row(reading)
            for reading in readings(store, whom=None, role=None, offset=0, limit=_LATEST)
        ),
    )
    return page(request, "cohort/privacy.html.j2", data)


def _kept(request: Request, store: Store) -> tuple[KeptRow, ...]:
    months = setting(store, RETENTION_MONTHS)
    past = past_retention(people.leavers(store) if months else (), months, today(request))
    sessions = setting(store, SESSION_MONTHS)
    late = say("kept_past", people=count(len(past), "person is", "people are")) if months else ""
    return (
        KeptRow(
            say("kept_person"),
            say("kept_person_until", months=count(months, "month"), past=late)
            if months
            else say("kept_for_good"),
        ),
        KeptRow(
            say("kept_log"),
            say("kept_log_until", months=count(sessions, "month"))
            if sessions
            else say("kept_for_good"),
        ),
        KeptRow(say("kept_result"), say("kept_result_until")),
        KeptRow(say("kept_consent"), say("kept_consent_until")),
        KeptRow(say("kept_reads"), say("kept_reads_until")),
    )


def _agreed(store: Store, sessions: tuple[Stored, ...]) -> tuple[AgreedRow, ...]:
    rows = []
    with store.reading() as connection:
        for session in sessions:
            if not session.opened:
                continue
            note = prebriefs.agreed(connection, session.planned.session)
            rows.append(
                AgreedRow(
                    session.planned.session,
                    str(session.planned.plan.get("title", "")),
                    str(session.planned.plan.get("purpose", "")),
                    local(note.wall or session.planned.wall) if note is not None else "",
                )
            )
    return tuple(rows)
