"""See to it that stored sessions have their results.

Rules of this file:

- What is missing is scored under the very scenario that was run where that is here or kept in the
  store, else under the scenario of today; the result says under which.
- A session that is still going on has no result; one that ended without ``closed`` gets one when
  it is asked for by its id.
- Sessions are taken scenario by scenario, so that each is read, sent and made ready once.
- A result is kept only if the log is still the one that was scored. Results are kept several in a
  transaction; what was not kept yet when a command was killed is scored by the next.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Connection, exists, select

from simengine.exchange.scoring_jobs import Job, NotScored, Scored, all_scored
from simengine.exchange.shelf_of_today import ShelfOfToday
from simengine.problems import InputError
from simengine.store import ChangedLogError, Store, logs, results
from simengine.store.json_text import as_json_text
from simengine.store.tables import events, sessions

Told = Callable[[int, int], None]
"""Is called with how many are done, and how many there are."""


TOGETHER = 16
"""So many results are kept in one transaction."""

_AT_A_TIME = 500
"""So many sessions are asked for by one statement."""

_T = TypeVar("_T")


@dataclass(slots=True)
class Outcome:
    """What came of scoring: how many got a result, and why others got none, by session."""

    scored: int = 0
    problems: dict[str, str] = field(default_factory=dict)


def waiting(store: Store) -> list[str]:
    """Return the sessions that have ended and have no result of their log as it is now."""
    missing = store.without_result()
    with store.reading() as connection:
        return [session for session in missing if is_closed(connection, session)]


def score_sessions(
    store: Store,
    chosen: Sequence[str],
    executor: Executor | None = None,
    told: Told | None = None,
    folders: Sequence[Path] = (Path("scenarios"),),
) -> Outcome:
    """Score these sessions, whether or not they have results."""
    shelf = ShelfOfToday(folders, run_in=store)
    outcome = Outcome()

    def jobs() -> Iterator[Job]:
        for session in by_scenario(store, chosen):
            try:
                yield job_of(store, session, shelf)
            except (InputError, ChangedLogError) as error:
                outcome.problems[session] = str(error)

    for batch in batched(all_scored(jobs(), executor)):
        with store.begin() as connection:
            for done in batch:
                if isinstance(done, NotScored):
                    outcome.problems[done.session] = done.why
                else:
                    outcome.scored += keep(connection, done)
        if told is not None:
            told(outcome.scored + len(outcome.problems), len(chosen))
    return outcome


def batched(coming: Iterable[_T]) -> Iterator[list[_T]]:
    """Yield what comes in batches, each to be kept in one transaction.

    What has come is yielded, too, where there comes no more because something went wrong.
    """
    batch: list[_T] = []
    try:
        for each in coming:
            batch.append(each)
            if len(batch) == TOGETHER:
                full, batch = batch, []
                yield full
    finally:
        if batch:
            yield batch


def by_scenario(store: Store, chosen: Sequence[str]) -> list[str]:
    """Return sessions with those that ran the same scenario after each other."""
    ran: dict[str, str] = {}
    for start in range(0, len(chosen), _AT_A_TIME):
        some = chosen[start : start + _AT_A_TIME]
        query = select(events.c.session, events.c.data).where(
            events.c.session.in_(some), events.c.seq == 0
        )
        with store.reading() as connection:
            ran.update((row.session, _what_ran(row.data)) for row in connection.execute(query))
    return sorted(chosen, key=lambda session: ran.get(session, ""))


def _what_ran(data: str) -> str:
    """What tells scenarios apart in the data of ``opened``; nothing where these are damaged."""
    try:
        opened = json.loads(data)
        scenario, protocol = opened["scenario"], opened["protocol"]
        key = [scenario["id"], protocol["id"], opened.get("infant"), scenario, protocol]
        return as_json_text(key)
    except (ValueError, KeyError, TypeError):
        return ""


def job_of(store: Store, session: str, shelf: ShelfOfToday) -> Job:
    """Return what has to be scored.

    Raises ``InputError`` where its scenario is not to be had, and ``ChangedLogError`` where the log
    is not as it was written, as far as that shows without verifying its whole chain.
    """
    log = store.events_to_verify(session)
    with store.reading() as connection:
        unit = unit_of(connection, session)
    return Job(session, unit, shelf.scenario(log[0].data), log)


def keep(connection: Connection, done: Scored) -> bool:
    """Keep a result; ``False`` if the log has gone on."""
    tail = logs.tail(connection, done.session)
    if tail is None or tail[1] != done.log_hash:
        return False
    results.put(connection, done.result, done.card)
    return True


def is_closed(connection: Connection, session: str) -> bool:
    """Return whether a session's log has its end."""
    closing = exists().where(events.c.session == session, events.c.kind == "closed")
    return bool(connection.execute(select(closing)).scalar())


def unit_of(connection: Connection, session: str) -> str | None:
    """Return where a session was held, as stored or else as planned; ``None`` if nobody said."""
    row = connection.execute(
        select(sessions.c.unit, sessions.c.plan).where(sessions.c.session == session)
    ).one()
    if row.unit is not None:
        return str(row.unit)
    plan: Mapping[str, Any] | None = json.loads(row.plan)
    planned = plan.get("unit") if isinstance(plan, dict) else None
    return str(planned) if planned else None
