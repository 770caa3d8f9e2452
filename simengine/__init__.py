"""simengine: run, score and explain simulated newborn emergencies. For training only.

The few things that a notebook needs, as functions with types::

    import simengine as sim

    session = sim.open_session("term-not-breathing-steady").session
    card = sim.score(session)
    card.to_frame()
    sim.write_debrief([session], "reports")

A scenario, protocol, vocabulary or recorded session may be named by its id or by its file. All
functions are looked up when first used, so that ``import simengine`` stays quick.
"""

from __future__ import annotations

# as `typing` has it, whose import alone takes as long as Python's start
TYPE_CHECKING = False
if TYPE_CHECKING:
    from simengine.debrief import write_debrief
    from simengine.scenario import check_file, load_protocol, load_scenario, load_vocabulary
    from simengine.scoring import score
    from simengine.session import fold, read_log, state_at, verify_log
    from simengine.session.from_file import open_session

__version__ = "0.1.0"

__all__ = [
    "check_file",
    "fold",
    "load_protocol",
    "load_scenario",
    "load_vocabulary",
    "open_session",
    "read_log",
    "score",
    "state_at",
    "verify_log",
    "write_debrief",
]

_HOME = {
    "check_file": "simengine.scenario",
    "fold": "simengine.session",
    "load_protocol": "simengine.scenario",
    "load_scenario": "simengine.scenario",
    "load_vocabulary": "simengine.scenario",
    "open_session": "simengine.session.from_file",
    "read_log": "simengine.session",
    "score": "simengine.scoring",
    "state_at": "simengine.session",
    "verify_log": "simengine.session",
    "write_debrief": "simengine.debrief",
}


def __getattr__(name: str) -> object:
    """Look up a public function in its home module."""
    if name not in _HOME:
        raise AttributeError(f"module 'simengine' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    """Return the public names, which completion shows, without looking any of them up."""
    return [*__all__, "__version__"]
