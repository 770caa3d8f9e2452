"""What the pages list from the store: a page at a time, or of some people alone.

Rules of this file:

- No function reads more than it is asked for: a list ends after ``limit`` rows, and what is of some
  people is found by their codes. So no page grows with the store.
- Only current results count, as everywhere.
- Scenarios that share a title are told apart by their ids within a list.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date
from typing import NamedTuple

import orjson
from sqlalchemy import ColumnElement, case, func, select

from simengine.cohort.from_card import from_json
from simengine.cohort.records import Purpose, SessionResult
from simengine.cohort.titles import told_apart
from simengine.people.currency import Currency, currency
from simengine.people.decisions import Outcomes
from simengine.people.outcomes import KINDS, outcomes_in
from simengine.people.roster import Roster
from simengine.store import evidence, logs
from simengine.store.log_store import Stored
from simengine.store.read_log import Access
from simengine.store.results import wall_of_few
from simengine.store.standard_as_run import has_standard
from simengine.store.store import Store
from simengine.store.tables import accesses, postings, results, takings, trainees

_IN_ONE_GO = 400


class DaysReading(NamedTuple):
    """Somebody in a role read something of a person's record on a day (ISO 8601), so many times."""

    day: str
    who: str
    role: str
    page: str
    times: int


class UnitSize(NamedTuple):
    """A unit, and how many people work on it."""

    unit: str
    people: int


def planned(
    store: Store, *, offset: int, limit: int, away: bool = False, alone: str = ""
) -> tuple[Stored, ...]:
    """Return sessions that were planned here, newest first; ``away``: those that are put away.

    ``alone``: those that somebody plays without a facilitator; left out, all others.
    """
    with store.reading() as connection:
        return logs.planned(connection, away=away, alone=alone, offset=offset, limit=limit)


def newest_results(
    store: Store,
    *,
    limit: int,
    offset: int = 0,
    purpose: Purpose | None = None,
    unit: str | None = None,
) -> tuple[SessionResult, ...]:
    """Return the results of the sessions that were opened last, newest first."""
    c = results.c
    query = select(c.result).where(c.current)
    if purpose is not None:
        query = query.where(c.purpose == purpose)
    if unit is not None:
        query = query.where(c.unit == unit)
    query = query.order_by(c.wall.desc(), c.session.desc()).offset(offset).limit(limit)
    with store.reading() as connection:
        return told_apart(from_json(orjson.loads(row.result)) for row in connection.execute(query))


def outcomes_of(store: Store, sessions: Collection[str]) -> dict[str, Outcomes]:
    """Return what was decided of some sessions."""
    with store.reading() as connection:
        events_of = {session: logs.of_kinds(connection, session, KINDS) for session in sessions}
        return {
            session: outcomes_in(events, standard=has_standard(connection, events[0].data))
            for session, events in events_of.items()
        }


def sessions_of(store: Store, code: str, *, offset: int, limit: int) -> tuple[SessionResult, ...]:
    """Return the results of the sessions that a person took part in, newest first."""
    c = results.c
    took = select(takings.c.session).where(takings.c.code == code)
    query = (
        select(c.result)
        .where(c.current, c.session.in_(took))
        .order_by(wall_of_few().desc(), c.session.desc())
        .offset(offset)
        .limit(limit)
    )
    with store.reading() as connection:
        return told_apart(from_json(orjson.loads(row.result)) for row in connection.execute(query))


def sessions_taken(store: Store, code: str) -> int:
    """Return in how many sessions a person held a role."""
    query = select(func.count(takings.c.session.distinct())).where(takings.c.code == code)
    with store.reading() as connection:
        return int(connection.execute(query).scalar_one())


def rehearsed(store: Store, codes: Collection[str], since: str) -> dict[str, tuple[int, str]]:
    """Return how often people rehearsed since an instant (UTC, ISO 8601), and when last.

    People who did not are left out. A rehearsal that was never ended is none.
    """
    c = results.c
    counts: dict[str, tuple[int, str]] = {}
    for part in _parts(sorted(codes)):
        query = (
            select(
                takings.c.code,
                func.count(takings.c.session.distinct()),
                func.max(c.wall),
            )
            .select_from(takings.join(results, takings.c.session == c.session))
            .where(c.current, c.purpose == "rehearsal", c.wall >= since, takings.c.code.in_(part))
            .group_by(takings.c.code)
        )
        with store.reading() as connection:
            counts |= {row[0]: (row[1], row[2]) for row in connection.execute(query)}
    return counts


def took_part(store: Store, code: str, session: str) -> bool:
    """Return whether a person held a role in a session."""
    query = select(takings.c.role).where(takings.c.code == code, takings.c.session == session)
    with store.reading() as connection:
        return connection.execute(query.limit(1)).first() is not None


def assessed(store: Store, codes: Collection[str]) -> Iterator[SessionResult]:
    """Yield the confirmed assessments that any of these people took part in."""
    c = results.c
    yielded: set[str] = set()
    for part in _parts(sorted(codes)):
        took = select(takings.c.session).where(takings.c.code.in_(part))
        counts: ColumnElement[bool] = c.session.in_(took)
        query = select(c.session, c.result).where(
            c.current, c.purpose == "summative", c.confirmed, counts
        )
        with store.reading() as connection:
            rows = connection.execute(query).all()
        for row in rows:
            if row.session not in yielded:
                yielded.add(row.session)
                yield from_json(orjson.loads(row.result))


def has_results(store: Store) -> bool:
    """Return whether any session has a result."""
    with store.reading() as connection:
        query = select(results.c.session).where(results.c.current)
        return connection.execute(query.limit(1)).first() is not None


def is_known(store: Store, code: str) -> bool:
    """Return whether anybody has this code: on the roster, or in a session's result."""
    with store.reading() as connection:
        return any(
            connection.execute(query.limit(1)).first() is not None
            for query in (
                select(trainees.c.code).where(trainees.c.code == code),
                select(takings.c.code).where(takings.c.code == code),
            )
        )


def currency_of(store: Store, some: Roster, today: date) -> tuple[Currency, ...]:
    """Return where the people of a part of the roster stand on a day."""
    with store.reading() as connection:
        proofs = evidence.latest(
            connection, [trainee.code for trainee in some.trainees], until=today
        )
    return currency(some, proofs, today)


def readings(
    store: Store, *, whom: str | None, role: str | None, offset: int, limit: int
) -> tuple[Access, ...]:
    """Return who read whose record, newest first; of one person or by one role alone."""
    c = accesses.c
    query = select(c.wall, c.who, c.role, c.page, c.whom).order_by(c.number.desc())
    if whom is not None:
        query = query.where(c.whom == whom)
    if role is not None:
        query = query.where(c.role == role)
    with store.reading() as connection:
        return tuple(Access(*row) for row in connection.execute(query.offset(offset).limit(limit)))


def readings_by_day(store: Store, whom: str, *, limit: int) -> tuple[DaysReading, ...]:
    """Return who read what of a person's record on which day of the local calendar, the latest
    first.
    """
    c = accesses.c
    day = func.coalesce(func.date(c.wall, "localtime"), c.wall).label("day")
    last = func.max(c.number).label("last")
    query = (
        select(day, c.who, c.role, c.page, func.count().label("times"), last)
        .where(c.whom == whom)
        .group_by(day, c.who, c.role, c.page)
        .order_by(last.desc())
        .limit(limit)
    )
    with store.reading() as connection:
        rows = connection.execute(query)
        return tuple(DaysReading(*row[:5]) for row in rows)


def units(store: Store, *, limit: int) -> tuple[str, ...]:
    """Return the first units of the roster, sorted."""
    with store.reading() as connection:
        query = select(postings.c.unit).group_by(postings.c.unit).order_by(postings.c.unit)
        return tuple(connection.execute(query.limit(limit)).scalars())


def is_unit(store: Store, unit: str) -> bool:
    """Return whether the roster has a unit of exactly this name."""
    with store.reading() as connection:
        query = select(postings.c.unit).where(postings.c.unit == unit)
        return connection.execute(query.limit(1)).first() is not None


def units_like(
    store: Store, part: str, day: date, *, offset: int, limit: int
) -> tuple[UnitSize, ...]:
    """Return the units whose name has ``part`` in it, whatever the case, sorted; all for none."""
    c = postings.c
    there = (c.since <= day) & (c.until.is_(None) | (c.until >= day))
    serving = trainees.c.left.is_(None) | (trainees.c.left >= day)
    people = func.count(case((there & serving, c.code)).distinct())
    query = (
        select(c.unit, people)
        .join(trainees, trainees.c.code == c.code)
        .group_by(c.unit)
        .order_by(c.unit)
    )
    if part:
        query = query.where(c.unit.icontains(part, autoescape=True))
    with store.reading() as connection:
        rows = connection.execute(query.offset(offset).limit(limit))
        return tuple(UnitSize(*row) for row in rows)


def more_people_than(store: Store, number: int) -> bool:
    """Return whether more people than this are on the roster, without counting the rest."""
    query = select(trainees.c.code).offset(number).limit(1)
    with store.reading() as connection:
        return connection.execute(query).first() is not None


def _parts(codes: list[str]) -> Iterator[list[str]]:
    for start in range(0, len(codes), _IN_ONE_GO):
        yield codes[start : start + _IN_ONE_GO]
