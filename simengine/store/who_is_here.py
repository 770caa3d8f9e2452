"""Who may be here today: people of a unit, people by a part of their name, people by their codes.

Rules of this file:

- Only who is in the hospital's service on the day is found. A name is given out to who may see it,
  and a part of a name finds nobody for anybody else, or it would tell whose code it is.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Select, or_, select

from simengine.store.store import Store
from simengine.store.tables import postings, trainees


class Colleague(NamedTuple):
    """Somebody to be picked. ``name``: empty for who may not see it, and where none is kept."""

    code: str
    name: str
    profession: str


def on_unit(
    store: Store, unit: str, day: date, *, names: bool, limit: int
) -> tuple[Colleague, ...]:
    """Return who works on a unit on a day, in the order of names for who may see them."""
    c = postings.c
    here = select(c.code).where(
        c.unit == unit, c.since <= day, c.until.is_(None) | (c.until >= day)
    )
    return _found(store, trainees.c.code.in_(here), day, names, limit)


def by_part(
    store: Store, part: str, day: date, *, names: bool, limit: int
) -> tuple[Colleague, ...]:
    """Return whose code has ``part`` in it, or for who may see names, whose name has each word."""
    c = trainees.c
    finds: ColumnElement[bool] = c.code.icontains(part, autoescape=True)
    if names:
        words = [c.name.icontains(word, autoescape=True) for word in part.split()]
        named = words[0]
        for word in words[1:]:
            named &= word
        finds = or_(finds, named)
    return _found(store, finds, day, names, limit)


def by_code(
    store: Store, codes: Collection[str], day: date, *, names: bool
) -> dict[str, Colleague]:
    """Return those of these people who are on the roster and in service."""
    wanted = trainees.c.code.in_(tuple(codes))
    return {colleague.code: colleague for colleague in _found(store, wanted, day, names, None)}


def _found(
    store: Store, finds: ColumnElement[bool], day: date, names: bool, limit: int | None
) -> tuple[Colleague, ...]:
    c = trainees.c
    serving = c.left.is_(None) | (c.left >= day)
    order: tuple[Any, ...] = (c.name, c.code) if names else (c.profession, c.code)
    query: Select[Any] = select(c.code, c.name, c.profession).where(finds, serving)
    with store.reading() as connection:
        rows = connection.execute(query.order_by(*order).limit(limit))
        return tuple(Colleague(row.code, row.name if names else "", row.profession) for row in rows)
