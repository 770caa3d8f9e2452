"""Where session logs, roster and results are kept: SQLite, or PostgreSQL by its address."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simengine.store.log_store import ChangedLogError, LogStore, Planned, Stored, StoreError

if TYPE_CHECKING:
    from simengine.store.store import Store

__all__ = ["ChangedLogError", "LogStore", "Planned", "Store", "StoreError", "Stored"]


def __getattr__(name: str) -> object:
    """Import the store, and SQLAlchemy with it, once it is asked for."""
    if name == "Store":
        from simengine.store.store import Store

        return Store
    raise AttributeError(name)
