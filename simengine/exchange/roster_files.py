"""The roster as the tables that it is imported from.

Rules of this file:

- The tables are written by the columns that read them, so that what is written can be imported
  again and makes the same roster.
- They hold names, unlike every other export, and are for the coordinator alone. No dictionary lies
  beside them, since the folder is to be imported as it is.
"""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path

from simengine.exchange.csv_files import write_rows
from simengine.exchange.placing import Placing
from simengine.people.roster import Roster
from simengine.people.roster_tables import WRITTEN


def write_roster(roster: Roster, folder: Path) -> list[Path]:
    """Write the tables of a roster into ``folder`` as CSV, and return the files."""
    with ExitStack() as stack:
        placing = stack.enter_context(Placing(folder))
        for table in WRITTEN:
            header = tuple(column.name for column in table.columns)
            write_rows(stack, placing, f"{table.name}.csv", [header, *table.cells(roster)])
    return placing.files
