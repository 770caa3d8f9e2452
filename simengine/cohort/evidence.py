"""Which sessions count for what.

Rules of this file:

- A rehearsal counts for nothing, and neither does a session that a safety stop ended. Others are
  told that a rehearsal was, and never how it went.
- Formative and summative sessions tell about the cohort. What is said of a person's competence
  rests on summative ones alone: confirmed, closed as finished, under a recorded standard.
- A session that was stopped early has times (they are censored then) and no total to compare.
- Two observers' logs of one session are one session: the log that was opened first counts. They
  are taken for one if scenario and team are the same, nobody recorded both, and they were opened
  within ``SAME_SESSION_S`` of each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime
from itertools import groupby

from simengine.cohort.records import SessionResult
from simengine.people.statement import LEAST_SCENARIOS as LEAST_SCENARIOS

SAME_SESSION_S = 600.0


def for_learning(results: Iterable[SessionResult]) -> Iterator[SessionResult]:
    """Yield the sessions that tell about the cohort: its times and items."""
    return (
        result
        for result in results
        if result.purpose != "rehearsal" and result.closed != "safety stop"
    )


def as_practice(result: SessionResult) -> SessionResult:
    """Return of a rehearsal that it was, when, of what and by whom; anything else as it is."""
    if result.purpose != "rehearsal":
        return result
    return replace(
        result,
        total=None,
        interval=None,
        outcome=None,
        items=(),
        objectives={},
        faults=(),
        unsafe={},
    )


def for_totals(results: Iterable[SessionResult]) -> Iterator[SessionResult]:
    """Yield the sessions whose totals can be compared: closed as finished, with a total."""
    return (
        result
        for result in for_learning(results)
        if result.closed == "finished" and result.total is not None
    )


def is_evidence(result: SessionResult) -> bool:
    """Whether a session is evidence about a person."""
    return (
        result.purpose == "summative"
        and result.confirmed
        and result.closed == "finished"
        and result.standard is not None
    )


def opened_at(result: SessionResult) -> datetime:
    """Return the instant at which a session was opened (UTC)."""
    return datetime.fromisoformat(result.wall)


def doubles(results: Iterable[SessionResult]) -> list[tuple[SessionResult, SessionResult]]:
    """Return (first, other) for each two logs of one session, in order of time.

    The work grows as n log n with the number of results.
    """
    ordered = sorted(
        results, key=lambda result: (result.scenario, _team(result), opened_at(result))
    )
    out = []
    for _, group in groupby(ordered, key=lambda result: (result.scenario, _team(result))):
        first: SessionResult | None = None
        for result in group:
            if first is not None and _same(first, result):
                out.append((first, result))
            else:
                first = result
    return sorted(out, key=lambda pair: opened_at(pair[0]))


def each_once(results: Iterable[SessionResult]) -> list[SessionResult]:
    """Return the results without second logs of a session, in the order given."""
    every = list(results)
    second = {other.session for _, other in doubles(every)}
    return [result for result in every if result.session not in second]


def _team(result: SessionResult) -> tuple[tuple[str, tuple[str, ...]], ...]:
    return tuple(sorted((role, tuple(sorted(people))) for role, people in result.team.items()))


def _same(first: SessionResult, other: SessionResult) -> bool:
    apart = abs((opened_at(other) - opened_at(first)).total_seconds())
    return (
        apart <= SAME_SESSION_S
        and any(first.team.values())
        and bool(first.by)
        and bool(other.by)
        and not set(first.by) & set(other.by)
    )
