"""Outcomes in the store: signed, appealed and superseded in the logs, and read from them.

Rules of this file:

- An outcome lives in its session's log and nowhere else. What is added here goes through the same
  rules as a page's entry (``simengine.people.signing``) and into the same chain.
- A session that a running console holds is signed in that console, which knows its log's end.
- ``by`` is who records, by device or account, and in what role (``simengine.session.rights``);
  whoever signs is named in the event.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

from sqlalchemy import Connection, select

from simengine.cohort.records import SessionResult
from simengine.people.decisions import Outcomes, SignedScore
from simengine.people.outcomes import KINDS, outcomes_in
from simengine.people.rescored import Beside, beside
from simengine.people.signing import appealing, remarking, signing, superseding
from simengine.session.chain import linked
from simengine.session.events import Event, Kind
from simengine.session.rights import Recorder, check_right
from simengine.store import logs
from simengine.store.log_store import StoreError
from simengine.store.standard_as_run import has_standard
from simengine.store.store import Store
from simengine.store.tables import events, takings, trainees

Decide = Callable[[Outcomes], dict[str, Any]]


def outcomes_of_session(store: Store, session: str) -> Outcomes:
    """Return what was decided of a session. Raises ``StoreError`` if there is no log of it."""
    with store.reading() as connection:
        return outcomes_within(connection, session)


def outcomes_of(store: Store, code: str) -> tuple[Outcomes, ...]:
    """Return what was decided of every session that a person took part in, the oldest first."""
    with store.reading() as connection:
        took = select(takings.c.session).where(takings.c.code == code).distinct()
        all_outcomes = [
            outcomes_within(connection, session) for session in connection.execute(took).scalars()
        ]
    return tuple(sorted(all_outcomes, key=lambda outcomes: (outcomes.day, outcomes.session)))


def sign(
    store: Store,
    session: str,
    *,
    name: str,
    credentials: str,
    outcome: str,
    by: Recorder,
    wall: str,
    person: str | None = None,
) -> Event:
    """Sign an outcome, or countersign it. ``wall``: UTC, ISO 8601; ``person``: whose alone.

    Raises ``RefusedError`` where it may not be signed, ``StoreError`` if there is no such log.
    """
    result = store.result(session)
    score = None if result is None else score_of(result)
    learners = learners_of(store, session)

    def decide(outcomes: Outcomes) -> dict[str, Any]:
        return signing(
            outcomes,
            name=name,
            credentials=credentials,
            outcome=outcome,
            score=score,
            person=person,
            learners=learners,
        )

    return _add(store, session, "signed", decide, by, wall, person)


def countersign(
    store: Store, session: str, *, name: str, credentials: str, by: Recorder, wall: str,
    person: str | None = None,
) -> Event:  # fmt: skip
    """Sign what somebody else has signed already. Raises as ``sign``, and if there is nothing."""
    check_right(by, "signed", {}, closed=True, written_by={})
    decision = outcomes_of_session(store, session).of(person)
    if decision is None or decision.standing(person) == "superseded":
        raise StoreError(f"there is no outcome of session {session} to countersign")
    return sign(
        store, session, name=name, credentials=credentials, outcome=decision.outcome, by=by,
        wall=wall, person=person,
    )  # fmt: skip


def appeal(
    store: Store, session: str, *, text: str, by: Recorder, wall: str, person: str | None = None,
    item: str | None = None,
) -> Event:  # fmt: skip
    """Appeal against an outcome; with ``item`` leave a remark at it. Raises as ``sign``."""

    def decide(outcomes: Outcomes) -> dict[str, Any]:
        if item is not None:
            return remarking(item=item, text=text, person=person)
        return appealing(outcomes, text=text, person=person)

    return _add(store, session, "appealed", decide, by, wall, person)


def supersede(
    store: Store, session: str, *, instead: str, by: Recorder, wall: str, person: str | None = None
) -> Event:
    """End an outcome. ``instead``: the session in its place, or words. Raises as ``sign``."""
    return _add(
        store,
        session,
        "superseded",
        lambda outcomes: superseding(outcomes, by=instead, person=person),
        by,
        wall,
        person,
    )


def score_of(result: SessionResult) -> SignedScore | None:
    """Return what goes with a signature; ``None`` where the program proposes no outcome."""
    return None if result.outcome is None else _as_signed(result)


def beside_today(outcomes: Outcomes, result: SessionResult) -> Mapping[str, Beside]:
    """Lay today's result beside each decision of a session: the signature's event → both."""
    today = _as_signed(result)
    return {decision.signature.event: beside(decision, today) for decision in outcomes.decisions}


def _as_signed(result: SessionResult) -> SignedScore:
    return SignedScore(
        result.total,
        result.outcome or "",
        result.scenario_digest,
        result.protocol_digest,
        result.program,
    )


def learners_of(store: Store, session: str) -> tuple[str, ...]:
    """Return the names of who took part, as far as the roster has them."""
    took = select(takings.c.code).where(takings.c.session == session)
    query = select(trainees.c.name).where(trainees.c.code.in_(took), trainees.c.name != "")
    with store.reading() as connection:
        return tuple(connection.execute(query).scalars())


def outcomes_within(connection: Connection, session: str) -> Outcomes:
    """Return what was decided of a session, within a transaction. Raises ``StoreError``."""
    log = logs.of_kinds(connection, session, KINDS)
    if not log or log[0].kind != "opened":
        raise StoreError(f"there is no log of session {session}")
    return outcomes_in(log, standard=has_standard(connection, log[0].data))


def _add(
    store: Store,
    session: str,
    kind: Kind,
    decide: Decide,
    by: Recorder,
    wall: str,
    person: str | None,
) -> Event:
    """Check the right, decide on what is kept and add it, in one transaction."""
    with store.begin() as connection:
        outcomes = outcomes_within(connection, session)
        logs.read(connection, session)  # nothing is signed by a log that was changed
        about = {} if person is None else {"person": person}
        check_right(by, kind, about, closed=outcomes.closed is not None, written_by={})
        data = decide(outcomes)
        query = select(events.c.wall, events.c.noted_ms, events.c.seq, events.c.hash)
        rows = connection.execute(query.where(events.c.session == session).order_by(events.c.seq))
        first, *_, last = rows.all()
        now_ms = (_instant(wall) - _instant(first.wall)) // timedelta(milliseconds=1)
        noted_ms = max(last.noted_ms, now_ms)
        event = Event(last.seq + 1, str(uuid4()), noted_ms, noted_ms, wall, kind, by.key, data)
        event = linked(event, last.hash)
        logs.append(connection, session, [event])
    return event


def _instant(wall: str) -> datetime:
    return datetime.fromisoformat(wall).astimezone(UTC)
