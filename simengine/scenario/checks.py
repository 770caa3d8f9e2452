"""Checks of a scenario as a whole."""

from __future__ import annotations

from simengine.scenario.place import Place
from simengine.scenario.read_scenario import Read


def check_whole(root: Place, read: Read) -> None:
    pass
