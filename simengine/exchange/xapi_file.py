"""xAPI statements of many sessions as a file, one statement a line (JSON Lines).

Rules of this file:

- A record store takes statements by its own web service; sending them is left to whoever has its
  key. A line is one statement as that service takes it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path

from simengine.cohort.records import SessionResult
from simengine.exchange.placing import Placing
from simengine.exchange.xapi import statements
from simengine.store import Store
from simengine.store.outcomes import outcomes_of_session


def write_statements(
    store: Store, results: Iterable[SessionResult], home: str, folder: Path
) -> tuple[Path, int]:
    """Write the statements of ``results`` into ``folder``; return the file and how many they are.

    ``home``: the address that codes and ids stand below, see ``home_of``.
    """
    number = 0
    with Placing(folder) as placing, placing.place("statements.jsonl").open("w") as file:
        for result in results:
            signed = outcomes_of_session(store, result.session)
            for statement in statements(result, home, outcomes=signed):
                file.write(json.dumps(statement, separators=(",", ":"), allow_nan=False) + "\n")
                number += 1
    return placing.files[0], number
