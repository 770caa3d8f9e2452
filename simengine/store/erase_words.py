"""Take words out of what was written in some sessions: the second pass of erasing.

Rules of this file:

- Erasing a person takes out the code and the full name, and lists what may be a part of the name.
  By then nobody knows the code any more, so this asks for the words themselves (a first name, a
  surname, a nickname) and the sessions in which they are to go: elsewhere they may be another's.
- Words count as whole words, whatever their case, in logs, results and whatever else belongs to
  these sessions. The logs are sealed anew, and that they were is kept.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, Table

from simengine.people.erasing import NOBODY, Erasing, Person, resealed
from simengine.store import logs
from simengine.store.erase import BY_HAND, LeftText
from simengine.store.erasing_rows import clear_results, clear_texts
from simengine.store.log_store import StoreError
from simengine.store.resealing import reseal, scrub, without_triggers
from simengine.store.store import Store
from simengine.store.tables import metadata

WHY = "words were erased"


@dataclass(frozen=True, slots=True)
class ErasedWords:
    """``found``: the texts of logs as they are afterwards; ``texts``: how many others changed."""

    sessions: tuple[str, ...]
    found: tuple[LeftText, ...]
    texts: int


def erase_words(
    store: Store,
    words: Collection[str],
    sessions: Sequence[str],
    *,
    wall: str,
    dry_run: bool = False,
) -> ErasedWords:
    """Take words out of sessions, all or nothing; with ``dry_run`` only say what would be done.

    ``wall``: now, UTC, ISO 8601. No console may hold one of the sessions in memory. Raises
    ``StoreError`` where there is no word or no such session.
    """
    erasing = Erasing(Person("", also=tuple(words)), NOBODY)
    if not erasing.person.names:
        raise StoreError("give at least one word to take out; none was found")
    try:
        with store.begin() as connection:
            done = _erased(connection, erasing, sessions, wall)
            if dry_run:
                raise _OnlyLooked(done)
    except _OnlyLooked as looked:
        return looked.erased
    scrub(store)
    return done


class _OnlyLooked(Exception):  # noqa: N818 - undoes the transaction of a dry run
    def __init__(self, erased: ErasedWords) -> None:
        self.erased = erased
        super().__init__()


def _erased(
    connection: Connection, erasing: Erasing, sessions: Sequence[str], wall: str
) -> ErasedWords:
    changed_sessions: list[str] = []
    left: list[LeftText] = []
    with without_triggers(connection):
        for session in sessions:
            before = logs.read(connection, session)
            if not before:
                raise StoreError(f"there is no session {session}")
            after, changed = resealed(before, erasing)
            if not changed:
                continue
            reseal(connection, session, after, changed, wall, WHY)
            changed_sessions.append(session)
            hashes = {old.hash: new.hash for old, new in zip(before, after, strict=True)}
            clear_results(connection, session, erasing, hashes)
            for old, new in zip(before, after, strict=True):
                if old.data != new.data:
                    left.append(LeftText(session, new.seq, _told(new.data)))
    texts = sum(
        clear_texts(connection, table, erasing, {}, only=sessions)
        for table in metadata.sorted_tables
        if _belongs_to_a_session(table)
    )
    return ErasedWords(tuple(changed_sessions), tuple(left), texts)


def _belongs_to_a_session(table: Table) -> bool:
    return table not in BY_HAND and "session" in table.columns


def _told(data: object) -> str:
    """The texts in an event that now say ``NOBODY``, in one line."""
    if isinstance(data, str):
        return data if NOBODY in data else ""
    values = data.values() if isinstance(data, dict) else data if isinstance(data, list) else ()
    return "; ".join(text for value in values if (text := _told(value)))
