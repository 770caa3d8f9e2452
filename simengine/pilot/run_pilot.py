"""Many simulated teams play one scenario.

Rules of this file:

- A team's seed is made of the pilot's seed, its level and its number, so that the same seed gives
  the same teams whatever the executor and the order in which they finish.
- Any executor of ``concurrent.futures`` will do; without one they play one after the other.
- Besides the teams of each level there are always others to compare them with: those that a
  marking guide must not reward (one that does nothing, steady ones that stop after a minute, one
  that does everything at once), and one that makes no mistake, which it should.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from random import Random
from typing import TYPE_CHECKING

from simengine.pilot.simulate_session import Recorder, play_team
from simengine.pilot.skilled_team import SkilledTeam
from simengine.pilot.skills import Skills, faultless
from simengine.pilot.team import EverythingTeam, IdleTeam, Team
from simengine.scenario.demonstration import held_to_its_mark
from simengine.scenario.model import Scenario
from simengine.scenario.packed import PackedScenario, packed, unpacked
from simengine.scoring.score_figures import ItemFigures, figures_of
from simengine.session.record import Session

if TYPE_CHECKING:
    from concurrent.futures import Executor

NOTHING = "does nothing"
STOPS = "stops after 60 s"
EVERYTHING = "does everything at once"
FAULTLESS = "makes no mistake"
COMPARED = (NOTHING, STOPS, EVERYTHING, FAULTLESS)

_STOPS_AT_MS = 60_000
STOPPING_TEAMS = 25
"""So many steady teams that stop are played: what one of them gets is chance."""
_BATCH = 20


@dataclass(frozen=True, slots=True)
class Played:
    """What became of one team. ``level`` is a level's name or one of ``COMPARED``.

    ``length_ms`` runs from time zero (else the start) to the end; ``states`` in order of entry.
    """

    level: str
    number: int
    total: float | None
    outcome: str | None
    closed: str | None
    length_ms: int
    states: tuple[str, ...]
    items: Mapping[str, ItemFigures]
    deductions: Mapping[str, float]
    left_at_once: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Batch:
    level: str
    numbers: tuple[int, ...]


def pilot(
    scenario: Scenario,
    skills: Skills,
    *,
    runs: int,
    seed: int,
    executor: Executor | None = None,
    told: Callable[[int, int], None] | None = None,
) -> tuple[Played, ...]:
    """Play ``runs`` teams of each level, and those to compare them with.

    ``told(done, all)`` is called as teams finish. The result is in order: levels as in
    ``skills``, teams by number, then the others.
    """
    scenario = held_to_its_mark(scenario)
    levels = [level.name for level in skills.levels]
    batches = [
        _Batch(level, tuple(range(first, min(first + _BATCH, runs))))
        for level in levels
        for first in range(0, runs, _BATCH)
    ]
    batches += [
        _Batch(NOTHING, (0,)),
        _Batch(STOPS, tuple(range(STOPPING_TEAMS))),
        _Batch(EVERYTHING, (0,)),
        _Batch(FAULTLESS, (0,)),
    ]
    everybody = sum(len(batch.numbers) for batch in batches)
    played: list[Played] = []
    for part in _parts(scenario, skills, seed, batches, executor):
        played += part
        if told is not None:
            told(len(played), everybody)
    order = {name: place for place, name in enumerate((*levels, *COMPARED))}
    return tuple(sorted(played, key=lambda team: (order[team.level], team.number)))


def _parts(
    scenario: Scenario,
    skills: Skills,
    seed: int,
    batches: list[_Batch],
    executor: Executor | None,
) -> Iterator[list[Played]]:
    if executor is None:
        for batch in batches:
            yield play_batch(scenario, skills, seed, batch)
        return
    from concurrent.futures import as_completed

    sent = packed(scenario)
    futures = [executor.submit(_play_elsewhere, sent, skills, seed, batch) for batch in batches]
    for future in as_completed(futures):
        yield future.result()


def _play_elsewhere(
    scenario: PackedScenario, skills: Skills, seed: int, batch: _Batch
) -> list[Played]:
    """Play a few teams of one level in another process."""
    return play_batch(unpacked(scenario), skills, seed, batch)


def play_batch(scenario: Scenario, skills: Skills, seed: int, batch: _Batch) -> list[Played]:
    """Play a few teams of one level."""
    return [play_one(scenario, skills, seed, batch.level, number) for number in batch.numbers]


def play_one(scenario: Scenario, skills: Skills, seed: int, level: str, number: int) -> Played:
    """Play one team and score it."""
    return _result(level, number, session_of(scenario, skills, seed, level, number))


def session_of(scenario: Scenario, skills: Skills, seed: int, level: str, number: int) -> Session:
    """Return the session that one team of a pilot plays."""
    chance = Random(f"{seed}/{level}/{number}")
    team: Team
    recorder = Recorder.perfect()
    if level == NOTHING:
        team = IdleTeam()
    elif level == EVERYTHING:
        team = EverythingTeam(scenario)
    elif level == FAULTLESS:
        skills = faultless(skills)
        team = SkilledTeam(scenario, skills, skills.levels[0], chance)
    else:
        by_name = {each_level.name: each_level for each_level in skills.levels}
        stops = _STOPS_AT_MS if level == STOPS else None
        skill = by_name.get(level, skills.levels[-1])
        team = SkilledTeam(scenario, skills, skill, chance, stops_at_ms=stops)
        recorder = Recorder.of(skills)
    return play_team(scenario, team, recorder, chance)


def _result(level: str, number: int, session: Session) -> Played:
    confirmed = replace(session, record=replace(session.record, confirmed=True))
    figures = figures_of(confirmed)
    return Played(
        level=level,
        number=number,
        total=figures.total,
        outcome=figures.outcome,
        closed=session.closed,
        length_ms=session.end_ms - (session.record.clock_ms or 0),
        states=tuple(stay.state for stay in session.stays),
        items=figures.items,
        deductions=figures.deductions,
        left_at_once=tuple(
            finding.words for finding in session.findings if finding.code == "left-at-once"
        ),
    )
