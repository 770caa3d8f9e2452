"""Whether the scenario that a session ran has a recorded standard, as far as the store knows.

Rules of this file:

- The scenario as it was run decides: one that was given a standard since, or has lost it, changes
  nothing about what was signed. Its digest stands in the log, and results are kept by digest.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import orjson
from sqlalchemy import Connection, select

from simengine.store.tables import results


def has_standard(connection: Connection, ran: Mapping[str, Any]) -> bool | None:
    """Return whether there is one; ``None`` while no result of the scenario as run is kept.

    ``ran``: the data of the event that opened the session.
    """
    c = results.c
    kept = connection.execute(
        select(c.result)
        .where(c.session == ran["session"], c.scenario_digest == ran["scenario"]["digest"])
        .order_by(c.number.desc())
        .limit(1)
    ).scalar()
    return None if kept is None else orjson.loads(kept)["standard"] is not None
