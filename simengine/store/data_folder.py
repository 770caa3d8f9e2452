"""Where a person's own data are kept on this machine."""

from __future__ import annotations

from pathlib import Path

from platformdirs import user_data_path

DEBRIEFS = "debriefs"
"""The folder in it that holds the debriefs made there, one folder for each session."""


def data_folder(chosen: Path | None = None) -> Path:
    """Return the folder that was chosen, else the system's own place for a person's data."""
    return chosen if chosen is not None else user_data_path("simengine", appauthor=False)
