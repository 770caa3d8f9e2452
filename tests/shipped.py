"""The shipped content, each file read and each session scored once in a run of the tests.

What is given out is frozen; a test that needs to change something reads a copy of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from pathlib import Path
from unittest.mock import patch

from simengine.resources import scenarios_dir
from simengine.scenario import load_protocol, load_scenario, load_vocabulary
from simengine.scenario.model import Infant, Scenario
from simengine.scenario.protocol import Protocol
from simengine.scenario.vocabulary import Vocabulary
from simengine.scoring import score
from simengine.scoring.card import ScoreCard
from simengine.session import from_file
from simengine.session.record import Session

SCENARIOS = tuple(sorted(path.stem for path in scenarios_dir().glob("*.yaml")))
PROTOCOLS = tuple(sorted(path.stem for path in (scenarios_dir() / "protocols").glob("*.yaml")))
SESSIONS = tuple(
    sorted(path.name.split(".")[0] for path in (scenarios_dir() / "sessions").glob("*.jsonl"))
)


def log_file(name: str) -> Path:
    return scenarios_dir() / "sessions" / f"{name}.session.jsonl"


@cache
def vocabulary() -> Vocabulary:
    return load_vocabulary(scenarios_dir() / "vocabulary" / "newborn.yaml")


@cache
def protocol(name: str) -> Protocol:
    return load_protocol(scenarios_dir() / "protocols" / f"{name}.yaml")


@cache
def scenario(name: str, under: str | None = None) -> Scenario:
    return load_scenario(scenarios_dir() / f"{name}.yaml", protocol=under)


@lru_cache(maxsize=32)
def _read_once(
    file: Path,
    *,
    protocol: str | None,
    search: tuple[Path, ...],
    infant: Infant | None = None,
) -> Scenario:
    return load_scenario(file, protocol=protocol, infant=infant, search=search)


def loaded(
    file: Path,
    *,
    protocol: Path | str | None = None,
    infant: Infant | None = None,
    search: Sequence[Path] = (),
) -> Scenario:
    """Load a scenario as ``load_scenario`` does, once where its files are all shipped ones."""
    if file.parent == scenarios_dir() and not search and not isinstance(protocol, Path):
        return _read_once(file, protocol=protocol, search=(), infant=infant)
    return load_scenario(file, protocol=protocol, infant=infant, search=search)


def opened(name: str, under: str | None = None) -> from_file.Opened:
    """Open a recorded session; what others of its scenario read as well is read once for all."""
    with patch.object(from_file, "load_scenario", _read_once):
        return from_file.open_session(log_file(name), protocol=under)


@cache
def session(name: str) -> Session:
    return opened(name).session


@cache
def card(name: str, redraws: int = 1000) -> ScoreCard:
    return score(session(name), redraws=redraws)
