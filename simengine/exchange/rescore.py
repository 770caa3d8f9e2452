"""Score all stored sessions again, under the scenario and protocol of today.

Rules of this file:

- What has a result of the log as it is now, under today's scenario, protocol, program and edition
  of the rules of scoring, is up to date and not scored.
- A run that was stopped or killed goes on where it was: what it has done is kept with each result,
  in the same transaction, and the next run that is asked the same is that run.
- Nothing signed is ever altered: signed outcomes live in the log, which is only read here. They
  are told beside the new score.
- A session that is still going on is left alone.
- Sessions are taken scenario by scenario, so that each is read, sent and made ready once.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from pathlib import Path
from uuid import uuid4

from sqlalchemy import Connection, delete, insert, select, update

from simengine import __version__
from simengine.exchange.changes import Change, Score, change_of, not_scored, seen
from simengine.exchange.scored import Told, batched, by_scenario, is_closed, job_of, keep
from simengine.exchange.scoring_jobs import Job, NotScored, Scored, all_scored
from simengine.exchange.shelf_of_today import ShelfOfToday
from simengine.problems import InputError
from simengine.scoring.edition import EDITION
from simengine.session.events import Event
from simengine.store import ChangedLogError, Store
from simengine.store.json_text import as_json_text
from simengine.store.standard_as_run import has_standard
from simengine.store.tables import events, rescore_runs, rescored


@dataclass(slots=True)
class Run:
    """A run of rescoring, and how many sessions it found in which way.

    ``earlier``: scored before the run was stopped, ``None`` if it is a new one. ``gone_on``:
    sessions whose record went on while they were scored; the next run takes them.
    """

    id: str
    earlier: int | None
    up_to_date: int = 0
    scored: int = 0
    still_going_on: int = 0
    gone_on: int = 0
    problems: int = 0


@dataclass(slots=True)
class _Waiting:
    """What a session's job was made from."""

    before: Score | None
    log: Sequence[Event] = field(repr=False)
    standard: bool | None


def rescore(
    store: Store,
    folders: Sequence[Path],
    executor: Executor | None = None,
    *,
    protocol: str | None = None,
    now: str,
    told: Told | None = None,
) -> Run:
    """Score what is not up to date and return the run; ``changes`` tells what came of it.

    ``folders``: where scenarios are, before the shipped ones. ``protocol``: the id of another one
    than each log's. ``now``: the instant, UTC, ISO 8601. ``told`` is called as sessions are done.
    """
    shelf = ShelfOfToday(folders, protocol=protocol)
    run = _begin(store, protocol, now)
    waiting: dict[str, _Waiting] = {}
    all_of_them = by_scenario(store, store.logs(counting=True))

    def report() -> None:
        if told is not None:
            told(
                run.up_to_date + run.scored + run.still_going_on + run.gone_on + run.problems,
                len(all_of_them),
            )

    def jobs() -> Iterator[Job]:
        for session in all_of_them:
            job = _job(store, session, shelf, run, waiting)
            if job is not None:
                yield job
            else:
                report()

    for batch in batched(all_scored(jobs(), executor)):
        with store.begin() as connection:
            for done in batch:
                _take(connection, run, waiting.pop(done.session), done)
        report()
    with store.begin() as connection:
        connection.execute(
            update(rescore_runs).where(rescore_runs.c.run == run.id).values(ended=now)
        )
    return run


def changes(store: Store, run: str) -> Iterator[Change]:
    """Yield what a run has scored or could not score, in the order of the sessions' ids."""
    after = ""
    while True:
        with store.reading() as connection:
            rows = connection.execute(
                select(rescored.c.session, rescored.c.told)
                .where(rescored.c.run == run, rescored.c.session > after)
                .order_by(rescored.c.session)
                .limit(500)
            ).all()
        for row in rows:
            yield Change.from_json(row.session, json.loads(row.told))
        if not rows:
            return
        after = rows[-1].session


def _begin(store: Store, protocol: str | None, now: str) -> Run:
    """Return the run that was asked the same and has not ended, else a new one."""
    request = as_json_text({"program": __version__, "protocol": protocol})
    c = rescore_runs.c
    with store.begin() as connection:
        earlier = connection.execute(
            select(c.run).where(c.ended.is_(None), c.asked == request).order_by(c.began.desc())
        ).scalar()
        if earlier is not None:
            rows = connection.execute(select(rescored.c.told).where(rescored.c.run == earlier))
            done = sum(json.loads(row.told)["after"] is not None for row in rows)
            return Run(str(earlier), earlier=done)
        run = str(uuid4())
        connection.execute(insert(rescore_runs).values(run=run, began=now, asked=request))
        return Run(run, earlier=None)


def _job(
    store: Store, session: str, shelf: ShelfOfToday, run: Run, waiting: dict[str, _Waiting]
) -> Job | None:
    """Return what has to be scored of a session, ``None`` if nothing has."""
    with store.reading() as connection:
        if not is_closed(connection, session):
            run.still_going_on += 1
            return None
        data = connection.execute(
            select(events.c.data).where(events.c.session == session, events.c.seq == 0)
        ).scalar_one()
        ran = json.loads(data)
        before, standard = seen(connection, session), has_standard(connection, ran)
    try:
        scenario = shelf.scenario(ran)
        of_today = before is not None and before.edition == EDITION
        if of_today and store.has_result(
            session,
            scenario_digest=scenario.digest,
            protocol_digest=scenario.protocol.digest,
            program=__version__,
        ):
            run.up_to_date += 1
            return None
        job = job_of(store, session, shelf)
    except ChangedLogError as error:
        run.problems += 1
        with store.begin() as connection:
            _note(connection, run, not_scored(session, str(error), before, (), standard=standard))
        return None
    except InputError as error:
        run.problems += 1
        why = "; ".join(str(problem) for problem in error.problems if problem.level == "error")
        with store.begin() as connection:
            log = store.events(session)
            _note(connection, run, not_scored(session, why, before, log, standard=standard))
        return None
    waiting[session] = _Waiting(before, job.events, standard)
    return job


def _take(connection: Connection, run: Run, of: _Waiting, done: Scored | NotScored) -> None:
    if isinstance(done, NotScored):
        run.problems += 1
        log = () if done.changed else of.log
        change = not_scored(done.session, done.why, of.before, log, standard=of.standard)
        _note(connection, run, change)
    elif keep(connection, done):
        run.scored += 1
        _note(connection, run, change_of(of.before, done, of.log, standard=of.standard))
    else:
        run.gone_on += 1


def _note(connection: Connection, run: Run, change: Change) -> None:
    """Write down what came of a session; of a run that goes on, with what was before all of it."""
    c = rescored.c
    mine = (c.run == run.id, c.session == change.session)
    earlier = connection.execute(select(c.told).where(*mine)).scalar()
    if earlier is not None:
        change = change.since(Change.from_json(change.session, json.loads(earlier)))
        connection.execute(delete(rescored).where(*mine))
    change_text = as_json_text(change.as_json())
    connection.execute(
        insert(rescored).values(run=run.id, session=change.session, told=change_text)
    )
