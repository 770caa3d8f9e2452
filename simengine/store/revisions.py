"""Which version a store is of, and bringing an older one up to today's.

Rules of this file:

- A store made before stores had versions is known by its tables and taken for 0001.
- An upgrade is one transaction: all steps or none.
- A store that a newer program has made, or a database that holds something else, is left alone.
- Alembic is imported only where something is to be made or changed.
"""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, text

from simengine.store.log_store import StoreError
from simengine.store.tables import REVISION, REVISION_TABLE, metadata

REVISIONS = ("0001", REVISION)
"""Every version that there has been, oldest first."""

_UNVERSIONED = frozenset(("sessions", "events", "tails"))
_FOLDER = Path(__file__).parent / "migrations"


def revision_of(connection: Connection) -> str | None:
    """Return the version that the database is of, ``None`` if it is empty.

    Raises ``StoreError`` if it is newer than this program or holds something else.
    """
    found = _tables(connection)
    if REVISION_TABLE in found:
        revision = connection.execute(text(f"SELECT version_num FROM {REVISION_TABLE}")).scalar()
        if revision is not None and revision not in REVISIONS:
            raise StoreError(
                f"the store was made by a newer simengine (its version is {revision}, this program "
                f"knows up to {REVISION}); install that one, nothing was changed"
            )
        return revision
    ours = found & set(metadata.tables)
    if ours == _UNVERSIONED:
        return REVISIONS[0]
    if ours:
        raise StoreError(
            "the database holds tables of another program under the names that the store needs "
            f"({', '.join(sorted(ours))}); choose an empty one"
        )
    return None


def bring_up(connection: Connection, to: str = REVISION) -> None:
    """Make the tables, or bring them up to the version ``to``, within the transaction under way."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_FOLDER).replace("%", "%%"))
    config.attributes["connection"] = connection
    if revision_of(connection) is not None and REVISION_TABLE not in _tables(connection):
        command.stamp(config, REVISIONS[0])
    command.upgrade(config, to)


def _tables(connection: Connection) -> set[str]:
    statement = (
        "SELECT name FROM sqlite_master WHERE type = 'table'"
        if connection.dialect.name == "sqlite"
        else "SELECT tablename FROM pg_tables WHERE schemaname = current_schema()"
    )
    return set(connection.execute(text(statement)).scalars())
