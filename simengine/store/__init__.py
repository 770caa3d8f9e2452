"""Where session logs are kept: a narrow interface, and SQLite behind it."""

from simengine.store.log_store import LogStore, Planned, Stored, StoreError
from simengine.store.sqlite_log_store import SqliteLogStore

__all__ = ["LogStore", "Planned", "SqliteLogStore", "StoreError", "Stored"]
