"""The roster in the store: read whole, written whole, and what follows from it.

Rules of this file:

- A roster is saved in one transaction: rows that are not in it any more are removed, all others
  are as it says.
- Codes in session logs are people too, though the roster may not know them.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import orjson
from sqlalchemy import Connection, Select, Table, delete, insert, select

from simengine.people.currency import Currency, currency
from simengine.people.roster import (
    Certificate,
    Leave,
    Posting,
    Requirement,
    Roster,
    Trainee,
)
from simengine.store import attendances, evidence
from simengine.store.json_text import as_json_text
from simengine.store.log_store import StoreError
from simengine.store.store import Store
from simengine.store.tables import certificates, leaves, postings, requirements, takings, trainees


def roster(store: Store) -> Roster:
    """Return everything that was imported, in the order of the files."""
    with store.reading() as connection:
        return roster_in(connection)


def roster_of(store: Store, *, unit: str | None = None, code: str | None = None) -> Roster:
    """Return a part of the roster: whoever is or was posted on ``unit``, or one person.

    What concerns everybody (requirements) is in it whole.
    """
    if code is not None:
        codes: Any = (code,)
    else:
        codes = select(postings.c.code).where(postings.c.unit == unit)
    with store.reading() as connection:
        return roster_in(connection, codes)


def leavers(store: Store) -> tuple[Trainee, ...]:
    """Return the people on the roster of whom a last day is known, past or to come."""
    stays = postings.c.code == trainees.c.code
    stay = select(postings.c.code).where(stays, postings.c.until.is_(None)).exists()
    posted = select(postings.c.code).where(stays).exists()
    known = trainees.c.left.is_not(None) | (posted & ~stay)
    with store.reading() as connection:
        return roster_in(connection, select(trainees.c.code).where(known)).trainees


def roster_in(connection: Connection, codes: Any = None) -> Roster:
    """Return the roster within a transaction under way; ``codes``: of these people alone."""

    def of(table: Table) -> Select[Any]:
        query = select(table)
        return query if codes is None else query.where(table.c.code.in_(codes))

    stays: dict[str, list[Posting]] = {}
    c = postings.c
    for row in connection.execute(of(postings).order_by(c.code, c.since, c.unit)):
        stays.setdefault(row.code, []).append(Posting(row.unit, row.since, row.until))
    return Roster(
        tuple(
            Trainee(
                row.code,
                row.profession,
                tuple(stays.get(row.code, ())),
                row.name,
                row.left,
                row.staff_number,
            )
            for row in connection.execute(of(trainees).order_by(trainees.c.number))
        ),
        tuple(
            Requirement(
                row.id,
                row.title,
                row.every_months,
                tuple(orjson.loads(row.professions)),
                tuple(orjson.loads(row.units)),
                tuple(orjson.loads(row.scenarios)),
                row.role,
                row.warn_days,
                row.starter_days,
                row.since,
            )
            for row in connection.execute(select(requirements).order_by(requirements.c.number))
        ),
        tuple(
            Leave(row.code, row.since, row.until, row.reason)
            for row in connection.execute(of(leaves).order_by(leaves.c.number))
        ),
        tuple(
            Certificate(row.code, row.requirement, row.issued, row.issuer, row.expires)
            for row in connection.execute(of(certificates).order_by(certificates.c.number))
        ),
    )


def save_roster(store: Store, whole: Roster, *, known: Roster | None = None) -> None:
    """Keep a roster in place of the one that is there, and its attendances beside those kept.

    ``known``: the one that ``whole`` was made from. Raises ``StoreError`` if it has been changed
    since by somebody else.
    """
    with store.begin() as connection:
        if known is not None and roster_in(connection) != known:
            raise StoreError("somebody else has changed the roster meanwhile; import again")
        for table in (certificates, leaves, requirements, postings, trainees):
            connection.execute(delete(table))
        _add(
            connection,
            trainees,
            [
                {
                    "code": trainee.code, "profession": trainee.profession, "name": trainee.name,
                    "left": trainee.left, "staff_number": trainee.staff_number,
                }
                for trainee in whole.trainees
            ],
        )  # fmt: skip
        stays = [
            {"code": trainee.code, "unit": stay.unit, "since": stay.since, "until": stay.until}
            for trainee in whole.trainees
            for stay in trainee.postings
        ]
        if stays:
            connection.execute(insert(postings), stays)
        _add(
            connection,
            requirements,
            [
                {
                    "id": requirement.id, "title": requirement.title,
                    "every_months": requirement.every_months,
                    "professions": as_json_text(requirement.professions),
                    "units": as_json_text(requirement.units),
                    "scenarios": as_json_text(requirement.scenarios),
                    "role": requirement.role, "warn_days": requirement.warn_days,
                    "starter_days": requirement.starter_days, "since": requirement.since,
                }
                for requirement in whole.requirements
            ],
        )  # fmt: skip
        _add(
            connection,
            leaves,
            [
                {
                    "code": leave.code,
                    "since": leave.since,
                    "until": leave.until,
                    "reason": leave.reason,
                }
                for leave in whole.leaves
            ],
        )
        _add(
            connection,
            certificates,
            [
                {
                    "code": certificate.code, "requirement": certificate.requirement,
                    "issued": certificate.issued,
                    "issuer": certificate.issuer, "expires": certificate.expires,
                }
                for certificate in whole.certificates
            ],
        )  # fmt: skip
        attendances.keep(connection, whole.attendances)


def codes_used(store: Store) -> frozenset[str]:
    """Return the codes that hold a role in some session's result."""
    with store.reading() as connection:
        return frozenset(connection.execute(select(takings.c.code).distinct()).scalars())


def currency_on(store: Store, today: date) -> tuple[Currency, ...]:
    """Return where each person stands in each requirement asked of them."""
    with store.reading() as connection:
        whole = roster_in(connection)
        return currency(whole, evidence.latest(connection, until=today), today)


def _add(connection: Connection, table: Table, rows: Sequence[dict[str, Any]]) -> None:
    if rows:
        numbered = [{**row, "number": number} for number, row in enumerate(rows, 1)]
        connection.execute(insert(table), numbered)
