"""The invented hospital's roster, read from its CSV files as a coordinator's own would be."""

from __future__ import annotations

from pathlib import Path

from simengine.people.read_roster import read_roster
from simengine.people.roster import Roster
from simengine.resources import scenarios_dir


def roster_folder() -> Path:
    """Return the folder with the CSV files of the roster."""
    return scenarios_dir() / "cohort" / "roster"


def demo_roster() -> Roster:
    """Return the roster. Raises ``InputError`` where a file has problems."""
    return read_roster([roster_folder()]).roster
