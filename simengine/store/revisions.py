"""Which version a store is of, and bringing an older one up to today's.

Rules of this file:

- A store of 0001, or without a version at all, is from long before the first release and is
  refused in words. One of 0002 differs in one name, and is brought over by ``_BRING_OVER``.
- An upgrade is one transaction: all steps or none.
- A store that a newer program has made, or a database that holds something else, is left alone.
- Alembic is imported only where something is to be made or changed.
"""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, text

from simengine.store.log_store import StoreError
from simengine.store.tables import REVISION, REVISION_TABLE, metadata

BEFORE = "0002"
"""The last version before the first release."""

FIRST = "0003"
"""The first that the steps in ``migrations`` make."""

REVISIONS = (BEFORE, FIRST, "0004", "0005", "0006", "0007", "0008", REVISION)
"""Every version that a store may be of, oldest first."""

_BRING_OVER = (
    "ALTER TABLE item_results RENAME COLUMN prompted TO with_cue",
    """UPDATE results SET result = replace(result, '"prompted":', '"with_cue":')""",
    f"UPDATE {REVISION_TABLE} SET version_num = '{FIRST}'",
)

_REFUSED = "0001"
_UNVERSIONED = frozenset(("sessions", "events", "tails"))
_TOO_OLD = (
    "the store was made by a simengine from before the first release, whose stores this program "
    "does not read; use an empty folder or database, nothing was changed"
)
_FOLDER = Path(__file__).parent / "migrations"


def revision_of(connection: Connection) -> str | None:
    """Return the version that the database is of, ``None`` if it is empty.

    Raises ``StoreError`` if it is newer than this program, from before the first release, or
    holds something else.
    """
    tables = _tables(connection)
    ours = tables & set(metadata.tables)
    if REVISION_TABLE in tables:
        revision = connection.execute(text(f"SELECT version_num FROM {REVISION_TABLE}")).scalar()
        if revision == _REFUSED:
            raise StoreError(_TOO_OLD)
        if revision is not None and revision not in REVISIONS:
            raise StoreError(
                f"the store was made by a newer simengine (its version is {revision}, this program "
                f"knows up to {REVISION}); install that one, nothing was changed"
            )
        return revision
    if ours == _UNVERSIONED:
        raise StoreError(_TOO_OLD)
    if ours:
        raise StoreError(
            "the database holds tables of another program under the names that the store needs "
            f"({', '.join(sorted(ours))}); choose an empty one"
        )
    return None


def bring_up(connection: Connection) -> None:
    """Make the tables, or bring them up to today's version, within the transaction under way."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_FOLDER).replace("%", "%%"))
    config.attributes["connection"] = connection
    if revision_of(connection) == BEFORE:
        for statement in _BRING_OVER:
            connection.execute(text(statement))
    command.upgrade(config, REVISION)


def _tables(connection: Connection) -> set[str]:
    statement = (
        "SELECT name FROM sqlite_master WHERE type = 'table'"
        if connection.dialect.name == "sqlite"
        else "SELECT tablename FROM pg_tables WHERE schemaname = current_schema()"
    )
    return set(connection.execute(text(statement)).scalars())
