"""What learners write of a session in their own words: a goal, what they take along, another view.

Rules of this file:

- Nothing here is scored, and none of it is in the log: it is the learner's own, and goes when the
  learner is erased or the log goes.
- One goal and one thing to take along each for a session; another view one for each item. Written
  anew it takes the place of what was there, and an answer to it with it; empty, it goes.
- An answer is the facilitator's. Empty words with an instant mean that it was noted.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal

import orjson
from sqlalchemy import delete, exists, insert, select, update

from simengine.store.store import Store
from simengine.store.tables import events, own_words, sessions

Kind = Literal["goal", "take along", "other view"]

MOST_LETTERS = 500


@dataclass(frozen=True, slots=True)
class OwnWords:
    """One person's words of a session. ``item``: of the marking guide, for another view of it; else
    empty. ``wall``, ``answered``: UTC, ISO 8601; ``answered`` is empty until somebody answers.
    """

    session: str
    code: str
    kind: Kind
    words: str
    wall: str
    item: str = ""
    answer: str = ""
    answered: str = ""


def put(store: Store, own: OwnWords) -> None:
    """Keep somebody's words, in place of those of before; empty ones take them away."""
    words = " ".join(own.words.split())[:MOST_LETTERS]
    c = own_words.c
    key = {"session": own.session, "code": own.code, "kind": own.kind, "item": own.item}
    this = [c[name] == value for name, value in key.items()]
    with store.begin() as connection:
        kept = connection.execute(select(c.words).where(*this)).scalar()
        if kept == words:
            return
        connection.execute(delete(own_words).where(*this))
        if words:
            row = {**key, "words": words, "wall": own.wall, "answer": "", "answered": ""}
            connection.execute(insert(own_words).values(row))


def of_session(store: Store, session: str) -> tuple[OwnWords, ...]:
    """Return what was written of a session, by person."""
    return _found(store, own_words.c.session == session)


def of_person(store: Store, code: str) -> tuple[OwnWords, ...]:
    """Return what a person wrote of any session, in order of time."""
    texts = _found(store, own_words.c.code == code)
    return tuple(sorted(texts, key=lambda text: text.wall))


def taken_along(store: Store, codes: Collection[str], but: str) -> tuple[OwnWords, ...]:
    """Return what each of these people took along last, from any session ``but`` this one."""
    c = own_words.c
    texts = _found(store, c.code.in_(codes), c.kind == "take along", c.session != but)
    last: dict[str, OwnWords] = {}
    for text in sorted(texts, key=lambda text: text.wall):
        last[text.code] = text
    return tuple(last[code] for code in codes if code in last)


def other_views(store: Store, *, offset: int, limit: int) -> tuple[OwnWords, ...]:
    """Return what was seen differently, what nobody has answered first, then the newest."""
    c = own_words.c
    query = (
        select(own_words)
        .where(c.kind == "other view")
        .order_by(c.answered != "", c.wall.desc(), c.session, c.code, c.item)
        .offset(offset)
        .limit(limit)
    )
    with store.reading() as connection:
        return tuple(_from(row) for row in connection.execute(query))


def answer(store: Store, session: str, code: str, item: str, words: str, wall: str) -> bool:
    """Answer another view, or with no words note it; return whether there is one."""
    c = own_words.c
    this = (c.session == session, c.code == code, c.kind == "other view", c.item == item)
    values = {"answer": " ".join(words.split())[:MOST_LETTERS], "answered": wall}
    with store.begin() as connection:
        return bool(connection.execute(update(own_words).where(*this).values(values)).rowcount)


def not_begun(store: Store, code: str) -> tuple[tuple[str, str], ...]:
    """Return the sessions that are planned with a person and not begun: id and title."""
    begun = exists().where(events.c.session == sessions.c.session)
    query = (
        select(sessions.c.session, sessions.c.plan)
        .where(~begun, sessions.c.plan.contains(code, autoescape=True))
        .order_by(sessions.c.number.desc())
    )
    with store.reading() as connection:
        plans = [(row.session, orjson.loads(row.plan)) for row in connection.execute(query)]
    return tuple(
        (session, str(plan.get("title", "")))
        for session, plan in plans
        if plan and any(code in people for people in plan.get("team", {}).values())
    )


def _found(store: Store, *where: object) -> tuple[OwnWords, ...]:
    c = own_words.c
    query = select(own_words).where(*where).order_by(c.code, c.kind, c.item)  # type: ignore[arg-type]
    with store.reading() as connection:
        return tuple(_from(row) for row in connection.execute(query))


def _from(row: object) -> OwnWords:
    return OwnWords(**{name: getattr(row, name) for name in OwnWords.__dataclass_fields__})
