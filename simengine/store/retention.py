"""Let go of what is older than it is to be kept.

Rules of this file:

- People whose last day is longer ago than ``people_months`` are erased, as if each had asked.
- Of sessions older than ``session_months`` the log, its plan and its score card go for good, and
  with them the chance to score it again. What stays is its result with every code replaced by one
  that stands for nobody: the cohort's figures are as they were. A rehearsal counts for nothing and
  goes with its result.
- An assessment with a signed outcome stays whole as long as somebody who took part is on the
  roster: it is what they are current by.
- Readings of records are forgotten with the sessions of their time, and so are sessions that were
  planned and never opened, and what was booked for a day of that time.
- Nothing goes by itself: somebody asks for it, and can look first.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from datetime import date

import orjson
from sqlalchemy import ColumnElement, Connection, Table, delete, select, update

from simengine.people.codes import erased_code
from simengine.people.days import add_months
from simengine.people.erasing import Erasing, Person
from simengine.people.roster import past_retention
from simengine.store.bookings import forget_sessions
from simengine.store.erase import erase
from simengine.store.json_text import as_json_text
from simengine.store.outcomes import outcomes_within
from simengine.store.people import roster_in
from simengine.store.resealing import remove_log, scrub, without_triggers
from simengine.store.store import Store
from simengine.store.tables import (
    accesses,
    bookings,
    events,
    evidence,
    fault_results,
    item_results,
    own_words,
    rescored,
    results,
    sessions,
    tails,
    takings,
    trainees,
)

_NO_PLAN = as_json_text(None)
_NO_CARD = zlib.compress(b"{}")
_INDEXES = ((takings, "code"), (item_results, "person"))


@dataclass(frozen=True, slots=True)
class LetGo:
    """What is let go of, or was.

    ``people``: codes, with their last day. ``logs``: sessions that lose log, plan and card;
    ``rehearsals``: sessions that go altogether; ``kept``: assessments that are old enough but stay
    because of their signed outcome. ``readings``: rows of who read what; ``planned``: sessions that
    were never opened.
    """

    people: tuple[tuple[str, date], ...]
    logs: tuple[str, ...]
    rehearsals: tuple[str, ...]
    kept: tuple[str, ...]
    readings: int
    planned: int


def let_go(
    store: Store,
    today: date,
    *,
    people_months: int | None,
    session_months: int | None,
    wall: str,
    dry_run: bool = False,
) -> LetGo:
    """Let go of what is past its time; with ``dry_run`` only say what that is.

    ``None`` months: kept until somebody erases it. ``wall``: now, UTC, ISO 8601. No console may
    hold one of the sessions in memory.
    """
    with store.reading() as connection:
        past = past_retention(roster_in(connection).trainees, people_months, today)
    if not dry_run:
        for person, _ in past:
            erase(store, person.code, wall=wall, clean=False)
    gone = [person.code for person, _ in past]
    with store.begin() as connection:
        sessions_gone = _sessions(connection, today, session_months, gone)
        done = LetGo(tuple((person.code, last) for person, last in past), *sessions_gone)
        if not dry_run and session_months is not None:
            first = add_months(today, -session_months)
            before = first.isoformat()
            with without_triggers(connection):
                for session in (*done.logs, *done.rehearsals):
                    _drop_log(connection, session)
            for session in done.logs:
                _make_anonymous(connection, session)
            for session in done.rehearsals:
                for table in (takings, item_results, fault_results, results):
                    connection.execute(delete(table).where(table.c.session == session))
            connection.execute(delete(accesses).where(accesses.c.wall < before))
            never = select(sessions.c.session).where(_never_opened(before))
            forget_sessions(connection, never.scalar_subquery())
            connection.execute(delete(own_words).where(own_words.c.session.in_(never)))
            connection.execute(delete(sessions).where(_never_opened(before)))
            connection.execute(delete(bookings).where(bookings.c.day < first))
    if not dry_run:
        scrub(store)
    return done


def _sessions(
    connection: Connection, today: date, months: int | None, gone: list[str]
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...], int, int]:
    if months is None:
        return (), (), (), 0, 0
    before = add_months(today, -months).isoformat()
    c = tails.c
    opened = (
        select(events.c.session, events.c.data)
        .join(tails, c.session == events.c.session)
        .where(events.c.seq == 0, events.c.kind == "opened", events.c.wall < before)
        .order_by(events.c.wall, events.c.session)
    )
    old = {row.session: orjson.loads(row.data)["purpose"] for row in connection.execute(opened)}
    on_roster = select(trainees.c.code).where(trainees.c.code.not_in(gone))
    held = (
        select(takings.c.session)
        .where(takings.c.code.in_(on_roster))
        .union(select(evidence.c.session).where(evidence.c.code.in_(on_roster)))
    )
    signed = select(events.c.session).where(events.c.kind == "signed", events.c.session.in_(held))
    # a signature where there was no outcome to sign keeps nothing
    stay = {
        session
        for session in set(connection.execute(signed).scalars())
        if outcomes_within(connection, session).decisions
    }
    rehearsals = [session for session, purpose in old.items() if purpose == "rehearsal"]
    kept = [session for session in old if session in stay and old[session] == "summative"]
    logs = [session for session in old if session not in kept and session not in rehearsals]
    readings = len(connection.execute(select(accesses).where(accesses.c.wall < before)).all())
    planned = len(connection.execute(select(sessions).where(_never_opened(before))).all())
    return tuple(logs), tuple(rehearsals), tuple(kept), readings, planned


def _never_opened(before: str) -> ColumnElement[bool]:
    return (
        (sessions.c.wall < before)
        & (sessions.c.plan != _NO_PLAN)
        & sessions.c.session.not_in(select(tails.c.session))
        & sessions.c.session.not_in(select(results.c.session))
    )


def _drop_log(connection: Connection, session: str) -> None:
    remove_log(connection, session)
    for table in (evidence, rescored):
        connection.execute(delete(table).where(table.c.session == session))
    connection.execute(update(sessions).where(sessions.c.session == session).values(plan=_NO_PLAN))


def _make_anonymous(connection: Connection, session: str) -> None:
    """Leave the figures of a session's current result, and nothing that says whose they are."""
    c = results.c
    connection.execute(delete(results).where(c.session == session, ~c.current))
    row = connection.execute(select(c.result).where(c.session == session)).first()
    if row is None:
        return
    result = orjson.loads(row.result)
    taken: set[str] = set()
    for code in sorted({*_codes(connection, session), *result["by"]}):
        instead = erased_code(taken)
        taken.add(instead)
        result = Erasing(Person(code), instead).json(result)
        for table, name in _INDEXES:
            _rename(connection, table, name, session, code, instead)
    values = {"result": as_json_text(result), "card": _NO_CARD}
    connection.execute(update(results).where(c.session == session).values(values))


def _codes(connection: Connection, session: str) -> set[str]:
    held = select(takings.c.code).where(takings.c.session == session)
    return set(connection.execute(held).scalars())


def _rename(
    connection: Connection, table: Table, name: str, session: str, code: str, instead: str
) -> None:
    this = (table.c.session == session, table.c[name] == code)
    connection.execute(update(table).where(*this).values({name: instead}))
