"""Faults of the equipment: which planted ones were found, how soon; which real ones were met.

Rules of this file:

- A planted fault that was not found counts as not found for as long as it was watched: its time is
  censored. Shares have Wilson's interval, times are seconds from the planting.
- Sessions of one scenario are taken together; the same fault in another scenario is another.
  Sessions share days and people, which the intervals count; and those of all faults hold at once,
  so that they hold for whichever is picked.
- Real faults, and kit that was not there, are a list: one each, with its day and unit. Nothing is
  reckoned from them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from simengine.cohort.clusters import Clusters, shares_of
from simengine.cohort.evidence import opened_at
from simengine.cohort.records import FaultResult, SessionResult
from simengine.cohort.shares import Share, together, wilson
from simengine.cohort.survival import Curve, Timed, curve


@dataclass(frozen=True, slots=True)
class PlantedFault:
    """A planted fault over the sessions of a scenario: how soon it was found and put right."""

    scenario: str
    scenario_title: str
    id: str
    title: str
    found: Share
    put_right: Share
    until_found: Curve
    until_put_right: Curve


@dataclass(frozen=True, slots=True)
class RealFault:
    """A fault that nobody had planted. Times: seconds from the session's start."""

    day: date
    session: str
    unit: str | None
    scenario_title: str
    id: str
    title: str
    found_s: float | None
    put_right_s: float | None


def planted_faults(results: Iterable[SessionResult]) -> tuple[PlantedFault, ...]:
    """Return the planted faults, the one found least often first."""
    met: dict[tuple[str, str], list[tuple[SessionResult, FaultResult]]] = {}
    for result in sorted(results, key=opened_at):
        for fault in result.faults:
            if fault.planted:
                met.setdefault((result.scenario, fault.id), []).append((result, fault))
    sure = together(len(met))
    out = []
    for (scenario, name), times in met.items():
        clusters = Clusters(shares_of(result) for result, _ in times)
        share_found, until_found = _told(
            [fault.found_s for _, fault in times], times, clusters, sure
        )
        right, until_right = _told([fault.put_right_s for _, fault in times], times, clusters, sure)
        session, last = times[-1]
        out.append(
            PlantedFault(
                scenario,
                session.scenario_title,
                name,
                last.title,
                share_found,
                right,
                until_found,
                until_right,
            )
        )
    return tuple(sorted(out, key=lambda fault: (fault.found.share, fault.scenario, fault.id)))


def _told(
    at_s: Sequence[float | None],
    times: Sequence[tuple[SessionResult, FaultResult]],
    clusters: Clusters,
    sure: float,
) -> tuple[Share, Curve]:
    """Return how often something was done by the end, and how soon."""
    done = [float(at_ is not None) for at_ in at_s]
    share = wilson(int(sum(done)), len(done), sure, clusters.worth(done, sure))
    until = curve([_timed(time, fault) for time, (_, fault) in zip(at_s, times, strict=True)])
    assert share is not None
    assert until is not None
    return share, until


def real_faults(results: Iterable[SessionResult]) -> tuple[RealFault, ...]:
    """Return what was met by chance, the latest first."""
    return tuple(
        RealFault(
            result.day,
            result.session,
            result.unit,
            result.scenario_title,
            fault.id,
            fault.title,
            fault.found_s,
            fault.put_right_s,
        )
        for result in sorted(results, key=opened_at, reverse=True)
        for fault in result.faults
        if not fault.planted
    )


def _timed(time_s: float | None, fault: FaultResult) -> Timed:
    return Timed(fault.watched_s, False) if time_s is None else Timed(max(0.0, time_s), True)
