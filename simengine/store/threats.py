"""Latent safety threats: what was met at work that could harm a real baby, and who puts it right.

Rules of this file:

- What a session met by chance (a fault that nobody had planted, kit that was not there) is
  proposed until somebody takes it up; what turns out to be none is taken up and closed with words
  that say so. A rehearsal has no real cot, so it proposes nothing.
- A threat that was closed stays. Nothing here is about a person: ``owner`` is who sees to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import uuid4

from sqlalchemy import Select, and_, func, insert, select, update
from sqlalchemy.exc import IntegrityError

from simengine.cohort.records import Threat, ThreatCategory
from simengine.store.log_store import StoreError
from simengine.store.store import Store
from simengine.store.tables import fault_results, results
from simengine.store.tables import threats as threats_table

_OF_THREAT = tuple(threats_table.c[name] for name in Threat.__dataclass_fields__)


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a session met by chance and nobody has taken up.

    ``source``: the fault's id in that session, to be given to ``add_threat`` with it.
    """

    session: str
    source: str
    unit: str | None
    day: date
    words: str
    category: ThreatCategory = "equipment"


def threats(
    store: Store,
    *,
    unit: str | None = None,
    closed: bool | None = None,
    offset: int = 0,
    limit: int | None = None,
) -> tuple[Threat, ...]:
    """Return threats, those that are open first, then newest first; ``closed``: those alone."""
    c = threats_table.c
    query = select(*_OF_THREAT).order_by(
        c.closed.is_not(None), c.opened.desc(), c.number.desc(), c.id
    )
    if unit is not None:
        query = query.where(c.unit == unit)
    if closed is not None:
        query = query.where(c.closed.is_not(None) if closed else c.closed.is_(None))
    with store.reading() as connection:
        rows = connection.execute(query.offset(offset).limit(limit))
        return tuple(Threat(**row._mapping) for row in rows)


def threat(store: Store, id_: str) -> Threat | None:
    """Return one threat."""
    with store.reading() as connection:
        row = connection.execute(select(*_OF_THREAT).where(threats_table.c.id == id_)).first()
    return None if row is None else Threat(**row._mapping)


def new_threat_id() -> str:
    """Return a random id for a threat."""
    return str(uuid4())


def add_threat(store: Store, one: Threat, *, source: str | None = None) -> None:
    """Keep a threat. ``source``: the proposal of ``one.session`` that is taken up by it.

    Raises ``StoreError`` if its id is taken, the proposal has been taken up already, or there is
    no such session.
    """
    values = {name: getattr(one, name) for name in Threat.__dataclass_fields__}
    newest = select(func.coalesce(func.max(threats_table.c.number), 0) + 1).scalar_subquery()
    with store.begin() as connection:
        try:
            connection.execute(insert(threats_table).values(**values, source=source, number=newest))
        except IntegrityError as error:
            raise StoreError(
                "nothing was kept: it has been taken up already, or there is no such session"
            ) from error


def assign_threat(store: Store, id_: str, owner: str, due: date | None) -> None:
    """Say who sees to a threat and by which day. Raises ``StoreError`` if it is unknown."""
    _change(store, id_, owner=owner, due=due)


def close_threat(store: Store, id_: str, closed: date, closing: str) -> None:
    """Close a threat with words on how. Raises ``StoreError`` if it is unknown."""
    _change(store, id_, closed=closed, closing=closing)


def reopen_threat(store: Store, id_: str) -> None:
    """Open a threat again that has come back. Raises ``StoreError`` if it is unknown."""
    _change(store, id_, closed=None, closing="")


def proposals(
    store: Store, *, unit: str | None = None, offset: int = 0, limit: int | None = None
) -> tuple[Proposal, ...]:
    """Return what sessions met by chance and nobody has taken up, newest first."""
    with store.reading() as connection:
        rows = connection.execute(_proposed(unit).offset(offset).limit(limit))
        return tuple(Proposal(*row) for row in rows)


def _proposed(unit: str | None) -> Select[Any]:
    f, r, t = fault_results.c, results.c, threats_table.c
    query = (
        select(r.session, f.fault, r.unit, r.day, f.title)
        .join(fault_results, f.session == r.session)
        .outerjoin(threats_table, and_(t.session == f.session, t.source == f.fault))
        .where(r.current, ~f.planted, r.purpose != "rehearsal", t.id.is_(None))
        .order_by(r.wall.desc(), r.session, f.fault)
    )
    return query if unit is None else query.where(r.unit == unit)


def _change(store: Store, id_: str, **values: object) -> None:
    with store.begin() as connection:
        changed = connection.execute(
            update(threats_table).where(threats_table.c.id == id_).values(**values)
        )
        if changed.rowcount == 0:
            raise StoreError(f"there is no threat {id_}")
