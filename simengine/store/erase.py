"""Erase a person: name and code go from everything that is kept here, anonymous figures stay.

Rules of this file:

- The roster's rows about the person are removed, and so are their account, the list of who read
  their record, what they agreed to, and what they wrote in their own words. They leave every team
  that is kept or booked.
- In every session the code is replaced by a new random one, another in each, so that what one
  session tells (who did what, times, credits, totals) stays and nothing ties two of them together
  or to a person. The log is sealed anew; that it was is kept.
- Free text (notes, appeals, owners of threats …) loses the code and the full name. What may be a
  first name or a nickname is listed for a person to look at, and stays until somebody has it
  taken out (``erase_words``).
- A signature that the person gave on others' outcomes loses its name too; how many is told before.
- Files that left the store (backups, exports, debriefs that were handed out) still hold what they
  held. A PostgreSQL server's own write-ahead log and backups follow that server's rules.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection, Table, delete, or_, select, update

from simengine.people.codes import erased_code
from simengine.people.erasing import Erasing, Person, parts_left, resealed
from simengine.store import logs
from simengine.store.accounts import folded, remove_accounts
from simengine.store.bookings import leave_bookings
from simengine.store.erasing_rows import clear_results, clear_texts, mentioned, took_part
from simengine.store.log_store import StoreError
from simengine.store.resealing import reseal, scrub, without_triggers
from simengine.store.store import Store
from simengine.store.tables import (
    accesses,
    accounts,
    attendances,
    certificates,
    consents,
    events,
    evidence,
    invitations,
    item_results,
    leaves,
    metadata,
    own_words,
    postings,
    results,
    shared_debriefs,
    sign_ins,
    tails,
    takings,
    trainees,
)
from simengine.store.teams import leave_teams

WHY = "a person was erased"

# Tables whose rows are dealt with one by one; of all others every text is looked at. What is left
# of the trainees are other people, whose names are their own.
BY_HAND = (
    events,
    tails,
    results,
    takings,
    item_results,
    evidence,
    trainees,
    accounts,
    invitations,
    sign_ins,
    shared_debriefs,
)


@dataclass(frozen=True, slots=True)
class LeftText:
    """A free text that may still name the person in part."""

    session: str
    seq: int
    words: str


@dataclass(frozen=True, slots=True)
class Erased:
    """What erasing does, or did. ``sessions``: whose logs are sealed anew.

    ``names``: those that were looked for. ``removed``: rows that go, by what they are.
    ``signatures``: signed events that lose their name. ``texts``: how many other texts lose the
    person.
    """

    names: tuple[str, ...]
    sessions: tuple[str, ...]
    events: int
    removed: Mapping[str, int]
    signatures: int
    texts: int
    left: tuple[LeftText, ...]


def erase(
    store: Store,
    code: str,
    *,
    wall: str,
    also: Sequence[str] = (),
    dry_run: bool = False,
    clean: bool = True,
) -> Erased:
    """Erase a person, all or nothing; with ``dry_run`` only say what would be done.

    ``wall``: now, UTC, ISO 8601. ``also``: other names that go with the person's. ``clean``: have
    the database give up the room in which removed rows still stand. No console may hold one of
    the sessions in memory. Raises ``StoreError`` where nobody has the code.
    """
    try:
        with store.begin() as connection:
            done = _erased(connection, replace(_person(connection, code), also=tuple(also)), wall)
            if dry_run:
                raise _OnlyLooked(done)
    except _OnlyLooked as looked:
        return looked.erased
    if clean:
        scrub(store)
    return done


class _OnlyLooked(Exception):  # noqa: N818 - undoes the transaction of a dry run
    def __init__(self, erased: Erased) -> None:
        self.erased = erased
        super().__init__()


def _erased(connection: Connection, person: Person, wall: str) -> Erased:
    took = took_part(connection, person.code)
    taken: set[str] = set()
    codes = {}
    for session in sorted(took):
        codes[session] = erased_code(taken)
        taken.add(codes[session])
    other = erased_code(taken)
    changed_sessions, changed_events, signatures = [], 0, 0
    left: list[LeftText] = []
    with without_triggers(connection):
        for session in sorted(took | mentioned(connection, person)):
            before = logs.read(connection, session)
            erasing = Erasing(person, codes.get(session, other), session in took)
            after, changed = resealed(before, erasing)
            if changed:
                reseal(connection, session, after, changed, wall, WHY)
                changed_sessions.append(session)
                changed_events += changed
                signatures += sum(
                    old.kind == "signed" and old.data["name"] != other_one.data["name"]
                    for old, other_one in zip(before, after, strict=True)
                )
            hashes = {old.hash: new.hash for old, new in zip(before, after, strict=True)}
            clear_results(connection, session, erasing, hashes)
            if session in took:
                left += [LeftText(session, seq, words) for seq, words in parts_left(after, person)]
    removed = {
        "rows of the roster": sum(
            _delete(connection, table, table.c.code == person.code)
            for table in (attendances, certificates, leaves, postings, trainees)
        ),
        "accesses": _delete(connection, accesses, accesses.c.whom == person.code),
        "accounts": remove_accounts(connection, _account_of(person)),
        "invitations": _delete(connection, invitations, invitations.c.trainee == person.code),
        "shared debriefs": _delete(
            connection, shared_debriefs, shared_debriefs.c.code == person.code
        ),
        "places in teams and in sessions to come": leave_teams(connection, person.code)
        + leave_bookings(connection, person.code),
        "consents": _delete(connection, consents, consents.c.code == person.code),
        "own words": _delete(connection, own_words, own_words.c.code == person.code),
    }
    connection.execute(update(accesses).where(accesses.c.who == person.code).values(who=other))
    everywhere = Erasing(person, other, took_part=False)
    texts = sum(
        clear_texts(connection, table, everywhere, codes)
        for table in metadata.sorted_tables
        if table not in BY_HAND
    )
    return Erased(
        (person.name, *person.also) if person.name else person.also,
        tuple(changed_sessions),
        changed_events,
        removed,
        signatures,
        texts,
        tuple(left),
    )


def _person(connection: Connection, code: str) -> Person:
    """Return who is to be erased; without a name where somebody else has the same one."""
    row = connection.execute(select(trainees.c.name).where(trainees.c.code == code)).first()
    if row is None and not took_part(connection, code):
        raise StoreError(f"nobody in the roster or in a session has the code {code}")
    if row is None or not row.name:
        return Person(code)
    names = connection.execute(select(trainees.c.name).where(trainees.c.code != code)).scalars()
    key = " ".join(row.name.split()).casefold()
    shared = any(" ".join(name.split()).casefold() == key for name in names)
    return Person(code, "" if shared else row.name)


def _account_of(person: Person) -> Any:
    """Return what finds the person's accounts: by the code, and by the name."""
    names = [folded(name) for name in (person.name, *person.also) if name]
    return or_(accounts.c.trainee == person.code, accounts.c.folded.in_(names))


def _delete(connection: Connection, table: Table, what: Any) -> int:
    return connection.execute(delete(table).where(what)).rowcount
