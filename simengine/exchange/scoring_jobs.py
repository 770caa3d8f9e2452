"""Score many sessions through any ``concurrent.futures`` executor.

Rules of this file:

- A job carries the scenario and the log itself, so that a worker needs no file of this machine:
  it may be a process here or somewhere else. It has a scenario made ready once.
- Jobs go out in small batches. Only some wait at a time, so that memory does not grow with the
  store.
- One session that can't be scored keeps no other from it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass
from itertools import islice
from typing import Any

from simengine.cohort.from_card import result_of
from simengine.cohort.records import SessionResult
from simengine.scenario.model import Scenario
from simengine.scenario.packed import PackedScenario, packed, unpacked
from simengine.scoring import ScoreCard, score
from simengine.scoring.as_json import card_as_json
from simengine.session.events import Event
from simengine.session.fold import fold
from simengine.session.record import Session

WAITING = 32
"""Jobs that are handed out and not done at a time."""

BATCH = 4
"""Jobs that are handed out together."""


@dataclass(frozen=True, slots=True)
class Job:
    """A session to score. ``unit``: where it was held."""

    session: str
    unit: str | None
    scenario: Scenario
    events: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class _Sent:
    """A job as it goes to another process."""

    session: str
    unit: str | None
    scenario: PackedScenario
    events: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class Scored:
    """A session's result and its card as JSON. ``log_hash``: of the last event that was scored."""

    session: str
    log_hash: str
    result: SessionResult
    card: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class NotScored:
    """A session that could not be scored, and why in words."""

    session: str
    why: str


def kept_of(session: Session, card: ScoreCard, *, unit: str | None) -> Scored:
    """Return what is kept of a scored session: the one way from a card to the store."""
    result = result_of(session, card, unit=unit)
    return Scored(session.session_id, session.last_hash, result, card_as_json(card))


def scored(job: Job) -> Scored | NotScored:
    """Score one session."""
    try:
        session = fold(job.scenario, job.events)
        return kept_of(session, score(session), unit=job.unit)
    except Exception as error:  # noqa: BLE001 - whatever is wrong with one must not stop the rest
        return NotScored(job.session, f"{type(error).__name__}: {error}")


def scored_elsewhere(jobs: Sequence[_Sent]) -> list[Scored | NotScored]:
    """Score some sessions in another process."""
    return [scored(Job(job.session, job.unit, unpacked(job.scenario), job.events)) for job in jobs]


def all_scored(jobs: Iterable[Job], executor: Executor | None) -> Iterator[Scored | NotScored]:
    """Yield each job's result as it is done, in no particular order; without executor, here."""
    if executor is None:
        yield from map(scored, jobs)
        return
    coming = (_Sent(job.session, job.unit, packed(job.scenario), job.events) for job in jobs)
    waiting: set[Future[list[Scored | NotScored]]] = set()
    try:
        while True:
            while len(waiting) < WAITING // BATCH and (batch := list(islice(coming, BATCH))):
                waiting.add(executor.submit(scored_elsewhere, batch))
            if not waiting:
                return
            done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
            for future in done:
                yield from future.result()
    finally:
        for future in waiting:
            future.cancel()
