"""Score many sessions through any ``concurrent.futures`` executor.

Rules of this file:

- A job carries the scenario and the log itself, so that a worker needs no file of this machine:
  it may be a process here or somewhere else.
- Jobs go out in small batches, each of one scenario, which a worker makes ready once: whoever has
  jobs of many scenarios gives those of one scenario after each other. Only some wait at a time, so
  that memory does not grow with the store.
- A log's chain is verified where it is scored, and the card is packed there, so that the command
  itself has little to do for a session.
- One session that can't be scored keeps no other from it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass
from itertools import groupby, islice

from simengine.cohort.from_card import result_of
from simengine.cohort.records import SessionResult
from simengine.scenario.model import Scenario
from simengine.scenario.packed import PackedScenario, packed, unpacked
from simengine.scoring import ScoreCard, score
from simengine.scoring.as_json import card_as_json
from simengine.scoring.packed_card import packed_card
from simengine.session.events import Event
from simengine.session.fold import fold
from simengine.session.log_file import changed_words
from simengine.session.record import Session

WAITING = 32
"""Jobs that are handed out and not done at a time."""

BATCH = 4
"""Jobs that are handed out together."""


@dataclass(frozen=True, slots=True)
class Job:
    """A session to score. ``unit``: where it was held; ``events``: its chain is still to verify."""

    session: str
    unit: str | None
    scenario: Scenario
    events: tuple[Event, ...]


Sent = tuple[str, str | None, tuple[Event, ...]]
"""A job as it goes to another process, beside its scenario: session, unit and events."""


@dataclass(frozen=True, slots=True)
class Scored:
    """A session's result and its card, packed. ``log_hash``: of the last event that was scored."""

    session: str
    log_hash: str
    result: SessionResult
    card: bytes


@dataclass(frozen=True, slots=True)
class NotScored:
    """A session that could not be scored, and why in words.

    ``changed``: its log is not as it was written, so that nothing in it is to be believed.
    """

    session: str
    why: str
    changed: bool = False


def kept_of(session: Session, card: ScoreCard, *, unit: str | None) -> Scored:
    """Return what is kept of a scored session: the one way from a card to the store."""
    result = result_of(session, card, unit=unit)
    return Scored(session.session_id, session.last_hash, result, packed_card(card_as_json(card)))


def scored(job: Job) -> Scored | NotScored:
    """Verify and score one session."""
    changed = changed_words(job.events, job.session)
    if changed:
        return NotScored(job.session, changed, changed=True)
    try:
        session = fold(job.scenario, job.events)
        return kept_of(session, score(session), unit=job.unit)
    except Exception as error:  # noqa: BLE001 - whatever is wrong with one must not stop the rest
        return NotScored(job.session, f"{type(error).__name__}: {error}")


def scored_elsewhere(scenario: PackedScenario, jobs: Sequence[Sent]) -> list[Scored | NotScored]:
    """Score some sessions of a scenario in another process."""
    return [
        scored(Job(session, unit, unpacked(scenario), events)) for session, unit, events in jobs
    ]


def all_scored(jobs: Iterable[Job], executor: Executor | None) -> Iterator[Scored | NotScored]:
    """Yield each job's result as it is done, in no particular order; without executor, here."""
    if executor is None:
        yield from map(scored, jobs)
        return
    coming = _batches(jobs)
    waiting: set[Future[list[Scored | NotScored]]] = set()
    try:
        while True:
            while len(waiting) < WAITING // BATCH and (batch := next(coming, None)):
                waiting.add(executor.submit(scored_elsewhere, *batch))
            if not waiting:
                return
            done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
            for future in done:
                yield from future.result()
    finally:
        for future in waiting:
            future.cancel()


def _batches(jobs: Iterable[Job]) -> Iterator[tuple[PackedScenario, list[Sent]]]:
    """Yield jobs that are of one scenario and come after each other, a few together."""
    for _, of_one in groupby(jobs, key=lambda job: id(job.scenario)):
        while some := list(islice(of_one, BATCH)):
            yield packed(some[0].scenario), [(job.session, job.unit, job.events) for job in some]
