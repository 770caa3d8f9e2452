"""The rows that name a person, and taking the person out of them.

Rules of this file:

- Results, their index rows and what a run of rescoring kept are dealt with session by session; of
  every other table each text is looked at, as JSON where it is JSON. So a table that is added later
  is looked at too.
- The database finds rows that may name the person, and perhaps a few more; what is changed is
  decided by ``simengine.people.erasing`` alone.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Collection, Iterator, Mapping
from typing import Any

import orjson
from sqlalchemy import Column, Connection, Table, Text, func, or_, select, update

from simengine.people.erasing import Erasing, Person
from simengine.store.json_text import as_json_text
from simengine.store.tables import (
    events,
    evidence,
    item_results,
    rescored,
    results,
    sessions,
    takings,
)

_HASH = re.compile(r"\b[0-9a-f]{64}\b")


def took_part(connection: Connection, code: str) -> set[str]:
    """Return the sessions in which a code held a role or recorded, by results and by logs."""
    held = select(takings.c.session).where(takings.c.code == code)
    c = events.c
    named = select(c.session, c.data, c.by).where(
        c.kind.in_(("opened", "joined", "left", "role")), c.data.contains(code, autoescape=True)
    )
    out = set(connection.execute(held).scalars())
    out |= set(connection.execute(select(c.session).where(c.by == code)).scalars())
    erasing = Erasing(Person(code), "")
    for row in connection.execute(named):
        data = orjson.loads(row.data)
        if erasing.json(data) != data:
            out.add(row.session)
    planned = select(sessions.c.session, sessions.c.plan).where(
        sessions.c.plan.contains(code, autoescape=True)
    )
    for session, text in connection.execute(planned):
        plan = orjson.loads(text)
        if erasing.json(plan) != plan:
            out.add(session)
    return out


def mentioned(connection: Connection, person: Person) -> set[str]:
    """Return the sessions whose log may name the person anywhere."""
    c = events.c
    query = select(c.session).where(or_(*_may_name(c.data, person), *_may_name(c.by, person)))
    return set(connection.execute(query.distinct()).scalars())


def _may_name(column: Column[Any], person: Person) -> Iterator[Any]:
    """Return what finds the rows that may name the person, and perhaps a few more."""
    if person.code_pattern is not None:
        yield column.contains(person.code, autoescape=True)
    for name in person.names:
        words = ["".join(_like(letter) for letter in word) for word in name]
        yield func.lower(column).like(f"%{'%'.join(words)}%")
        if len(words) > 1:
            yield func.lower(column).like(f"%{words[-1]}%{'%'.join(words[:-1])}%")


def _like(letter: str) -> str:
    """Return what a letter is in a pattern: itself if every database folds its case alike."""
    return letter.lower() if letter.isascii() and letter.isalnum() else "%"


def clear_results(
    connection: Connection, session: str, erasing: Erasing, hashes: Mapping[str, str]
) -> None:
    """Take the person out of a session's results, and lead these to the log as it is now."""
    code, instead = erasing.person.code, erasing.instead
    for table, name in ((takings, "code"), (item_results, "person"), (evidence, "code")):
        this = (table.c.session == session, table.c[name] == code)
        connection.execute(update(table).where(*this).values({name: instead}))
    c = rescored.c
    for run, words in connection.execute(select(c.run, c.told).where(c.session == session)).all():
        now = _HASH.sub(lambda match: hashes.get(match[0], match[0]), words)
        this = (c.session == session, c.run == run)
        connection.execute(update(rescored).where(*this).values(told=now))
    r = results.c
    for row in connection.execute(select(results).where(r.session == session)).all():
        card = orjson.loads(zlib.decompress(row.card))
        connection.execute(
            update(results)
            .where(
                r.session == session,
                r.log_hash == row.log_hash,
                r.scenario_digest == row.scenario_digest,
                r.protocol_digest == row.protocol_digest,
                r.program == row.program,
            )
            .values(
                log_hash=hashes.get(row.log_hash, row.log_hash),
                result=as_json_text(erasing.json(orjson.loads(row.result))),
                card=zlib.compress(as_json_text(erasing.json(card)).encode(), level=1),
            )
        )


def clear_texts(
    connection: Connection,
    table: Table,
    everywhere: Erasing,
    codes: Mapping[str, str],
    *,
    only: Collection[str] | None = None,
) -> int:
    """Take the person out of every text of a table; return how many rows were changed.

    ``only``: leave out the rows that belong to other sessions.
    """
    columns = [
        column
        for column in table.columns
        if isinstance(column.type, Text) and not column.foreign_keys and not column.primary_key
    ]
    key = list(table.primary_key.columns)
    person = everywhere.person
    finds = [clause for column in columns for clause in _may_name(column, person)]
    if not finds:
        return 0
    changed = 0
    for row in connection.execute(select(table).where(or_(*finds))).mappings().all():
        session = str(row.get("session"))
        if only is not None and session not in only:
            continue
        erasing = Erasing(person, codes[session]) if session in codes else everywhere
        values = {}
        for column in columns:
            before = row[column.name]
            after = _without(erasing, before)
            if after != before:
                values[column.name] = after
        if values:
            changed += 1
            this = [column == row[column.name] for column in key]
            connection.execute(update(table).where(*this).values(values))
    return changed


def _without(erasing: Erasing, text: str | None) -> str | None:
    """Return a text without the person, as JSON where it is JSON."""
    if text is None:
        return None
    if text[:1] in ("{", "["):
        try:
            before = orjson.loads(text)
        except orjson.JSONDecodeError:
            return erasing.text(text)
        after = erasing.json(before)
        return text if after == before else as_json_text(after)
    return erasing.text(text)
