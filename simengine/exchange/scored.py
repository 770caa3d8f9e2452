"""See to it that stored sessions have their results.

Rules of this file:

- What is missing is scored under the very scenario that was run where that is here or kept in the
  store, else under the scenario of today; the result says under which.
- A session that is still going on has no result; one that ended without ``closed`` gets one when
  it is asked for by its id.
- A result is kept only if the log is still the one that was scored.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, exists, select

from simengine.exchange.scoring_jobs import Job, NotScored, Scored, all_scored
from simengine.exchange.shelf_of_today import ShelfOfToday
from simengine.problems import InputError
from simengine.store import ChangedLogError, Store, logs, results
from simengine.store.tables import events, sessions

Told = Callable[[int, int], None]
"""Is called with how many are done, and how many there are."""


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
        for session in chosen:
            try:
                yield job_of(store, session, shelf)
            except (InputError, ChangedLogError) as error:
                outcome.problems[session] = str(error)

    for done in all_scored(jobs(), executor):
        if isinstance(done, NotScored):
            outcome.problems[done.session] = done.why
        else:
            outcome.scored += keep(store, done)
        if told is not None:
            told(outcome.scored + len(outcome.problems), len(chosen))
    return outcome


def job_of(store: Store, session: str, shelf: ShelfOfToday) -> Job:
    """Return what has to be scored.

    Raises ``InputError`` where its scenario is not to be had, and ``ChangedLogError`` where the log
    is not as it was written.
    """
    log = store.events(session)
    with store.reading() as connection:
        unit = unit_of(connection, session)
    return Job(session, unit, shelf.scenario(log[0].data), log)


def keep(
    store: Store, done: Scored, also: Callable[[Connection], None] = lambda connection: None
) -> bool:
    """Keep a result, and ``also`` in the same transaction; ``False`` if the log has gone on."""
    with store.begin() as connection:
        tail = logs.tail(connection, done.session)
        if tail is None or tail[1] != done.log_hash:
            return False
        results.put(connection, done.result, done.card)
        also(connection)
        return True


def is_closed(connection: Connection, session: str) -> bool:
    """Return whether a session's log has its end."""
    found = exists().where(events.c.session == session, events.c.kind == "closed")
    return bool(connection.execute(select(found)).scalar())


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
