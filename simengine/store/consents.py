"""What people said themselves of taking part, of figures and of research, and when.

Rules of this file:

- What is said is added, so that it can be told when it was said; what was said last holds. It goes
  with the person alone.
"""

from __future__ import annotations

from collections.abc import Callable, Collection

from sqlalchemy import ColumnElement, func, insert, select

from simengine.people.consent import Said, Use, last_said
from simengine.store.store import Store
from simengine.store.tables import consents

_COLUMNS = (consents.c.code, consents.c.use, consents.c.given, consents.c.wall)


def say(store: Store, said: Said) -> None:
    """Keep what somebody says; the same as last time changes nothing."""
    before = last_said(of_person(store, said.code)).get(said.use)
    if before is not None and before.given == said.given:
        return
    row = {"code": said.code, "use": said.use, "given": said.given, "wall": said.wall}
    with store.begin() as connection:
        connection.execute(insert(consents).values(row))


def of_person(store: Store, code: str) -> tuple[Said, ...]:
    """Return all that a person said, in the order in which it was."""
    c = consents.c
    query = select(*_COLUMNS).where(c.code == code).order_by(c.number)
    with store.reading() as connection:
        return tuple(Said(*row) for row in connection.execute(query))


def of_people(store: Store, codes: Collection[str]) -> dict[str, dict[Use, Said]]:
    """Return what each of these people said last of each use."""
    standing: dict[str, dict[Use, Said]] = {code: {} for code in codes}
    for statement in _standing(store, consents.c.code.in_(tuple(codes))):
        standing[statement.code][statement.use] = statement
    return standing


def who(store: Store, use: Use, *, given: bool) -> frozenset[str]:
    """Return the codes of those who agreed to a use, or of those who refused it."""
    standing = _standing(store, consents.c.use == use)
    return frozenset(consent.code for consent in standing if consent.given == given)


def counts(store: Store, *, research: bool = False) -> Callable[[str], bool]:
    """Return what tells whether a person may be told apart by their code.

    In the hospital's own figures that is everybody who did not refuse it, in what goes to
    ``research`` or teaching who agreed to that.
    """
    if research:
        return who(store, "research", given=True).__contains__
    refused = who(store, "figures", given=False)
    return lambda code: code not in refused


def latest(store: Store, *, limit: int) -> tuple[Said, ...]:
    """Return what was said by anybody, the newest first."""
    query = select(*_COLUMNS).order_by(consents.c.number.desc()).limit(limit)
    with store.reading() as connection:
        return tuple(Said(*row) for row in connection.execute(query))


def _standing(store: Store, which: ColumnElement[bool]) -> tuple[Said, ...]:
    c = consents.c
    last = select(func.max(c.number)).where(which).group_by(c.code, c.use)
    query = select(*_COLUMNS).where(c.number.in_(last)).order_by(c.number)
    with store.reading() as connection:
        return tuple(Said(*row) for row in connection.execute(query))
