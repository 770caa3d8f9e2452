"""What a coordinator has set for this store."""

from __future__ import annotations

from typing import Any

import orjson
from sqlalchemy import delete, insert, select

from simengine.store.json_text import as_json_text
from simengine.store.store import Store
from simengine.store.tables import settings

RETENTION_MONTHS = "retention_months"
"""How long a record is kept after a person's last day; not set: until somebody erases it."""

SESSION_MONTHS = "session_months"
"""How long a session's log is kept after it was opened; not set: for good."""


ISSUER = "issuer"
"""Who issues certificates of attendance, in words; not set: a line to write it on."""

NAMES_TO_EDUCATORS = "names_to_educators"
"""Whether educators see names where they say who is here; not set: the coordinator alone does."""


def setting(store: Store, key: str) -> Any:
    """Return what is set (JSON), ``None`` where nothing is."""
    with store.reading() as connection:
        value = connection.execute(select(settings.c.value).where(settings.c.key == key)).scalar()
    return None if value is None else orjson.loads(value)


def set_setting(store: Store, key: str, value: object) -> None:
    """Set a value (JSON); ``None`` takes it back."""
    with store.begin() as connection:
        connection.execute(delete(settings).where(settings.c.key == key))
        if value is not None:
            connection.execute(insert(settings).values(key=key, value=as_json_text(value)))
