"""Whom signed outcomes prove something of, kept as rows beside the logs.

Rules of this file:

- The logs alone decide (``simengine.people.outcomes``). These rows are made anew whenever what may
  change them is added to a log, in the same transaction, so that no page reads whole logs; and
  when a result is kept, which tells whether the scenario has a recorded standard.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date

import orjson
from sqlalchemy import Connection, and_, delete, func, insert, select

from simengine.people.currency import Evidence
from simengine.people.outcomes import outcomes_in
from simengine.session.events import Event
from simengine.store.counting import is_put_away
from simengine.store.json_text import as_json_text
from simengine.store.standard_as_run import has_standard
from simengine.store.tables import evidence as evidence_table


def renew(connection: Connection, session: str, told: Sequence[Event]) -> None:
    """Make a session's rows anew from those of its events that outcomes rest on."""
    connection.execute(delete(evidence_table).where(evidence_table.c.session == session))
    if told[0].kind != "opened":
        return  # no log that a reader takes; what was added is kept all the same
    if is_put_away(connection, session):
        return
    proofs = outcomes_in(told, standard=has_standard(connection, told[0].data)).evidence()
    if proofs:
        connection.execute(
            insert(evidence_table),
            [
                {
                    "session": proof.session,
                    "code": proof.code,
                    "day": proof.day,
                    "scenario": proof.scenario,
                    "roles": as_json_text(proof.roles),
                }
                for proof in proofs
            ],
        )


def latest(
    connection: Connection, codes: Collection[str] | None = None, *, until: date
) -> tuple[Evidence, ...]:
    """Return the newest evidence up to a day, in each scenario and with each roles of each person.

    ``codes``: of these people alone. What is older can make nobody more current.
    """
    c = evidence_table.c
    newest = select(c.code, c.scenario, c.roles, func.max(c.day).label("day")).where(c.day <= until)
    if codes is not None:
        newest = newest.where(c.code.in_(tuple(codes)))
    latest_days = newest.group_by(c.code, c.scenario, c.roles).subquery()
    n = latest_days.c
    same = and_(c.code == n.code, c.scenario == n.scenario, c.roles == n.roles, c.day == n.day)
    session = func.max(c.session).label("session")
    query = (
        select(c.code, session, c.day, c.scenario, c.roles)
        .select_from(latest_days.join(evidence_table, same))
        .group_by(c.code, c.scenario, c.roles, c.day)
        .order_by(c.day, session, c.code)
    )
    return tuple(
        Evidence(row.code, row.session, row.day, row.scenario, tuple(orjson.loads(row.roles)))
        for row in connection.execute(query)
    )
