"""simengine: run, score and explain simulated newborn emergencies. For training only.

The few things that a notebook needs, as functions with types::

    from simengine import open_session, score, write_debrief

    session = open_session("reports/weak.session.jsonl").session
    print(score(session).total)
    write_debrief([session], "reports")

They are looked up when first used, so that ``import simengine`` stays quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simengine.debrief import write_debrief
    from simengine.scenario import load_scenario
    from simengine.scoring import score
    from simengine.session import fold, read_log
    from simengine.session.from_file import open_session

__version__ = "0.1.0"

__all__ = ["fold", "load_scenario", "open_session", "read_log", "score", "write_debrief"]

_HOME = {
    "fold": "simengine.session",
    "load_scenario": "simengine.scenario",
    "open_session": "simengine.session.from_file",
    "read_log": "simengine.session",
    "score": "simengine.scoring",
    "write_debrief": "simengine.debrief",
}


def __getattr__(name: str) -> object:
    """Look up a public function in its home module."""
    if name not in _HOME:
        raise AttributeError(f"module 'simengine' has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)
