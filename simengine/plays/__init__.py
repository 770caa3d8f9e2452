"""Plays: what a team does in a scenario, when, and what must come of it.

A play is how an author knows that the careful team is not marked down and that the dangerous one
does not pass. It is read from YAML (``read``), played through the real engine (``run``) and its
expectations are held against what came (``results``). Beside a scenario ``NAME.yaml`` its plays
stand as ``plays/NAME/*.yaml`` (``files``), since one folder may hold many scenarios.
"""

from __future__ import annotations

from simengine.plays.files import load_play, plays_of
from simengine.plays.results import Line, Result, result_of
from simengine.plays.run_play import Performed, perform

__all__ = ["Line", "Performed", "Result", "load_play", "perform", "plays_of", "result_of"]
