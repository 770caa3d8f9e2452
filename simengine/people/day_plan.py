"""A day's plan: every group through every scenario, at stations that stand where they are.

Rules of this file:

- Each group has each scenario once. A group is at one station at a time, and a station has one
  group at a time.
- A scenario stays at its station, since that is where it is laid out: the stations take the
  scenarios in turn.
- As many groups as stations, and as many scenarios, need no longer than one of them: the groups
  move on by one station each time (a Latin square; Euler 1782).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Round:
    """Who does what where at the same time: (group, scenario, station), each by its place."""

    number: int
    sessions: tuple[tuple[int, int, int], ...]


def rounds(groups: int, scenarios: int, stations: int) -> tuple[Round, ...]:
    """Return the rounds in which each of ``groups`` has each of ``scenarios`` once.

    Whoever has most left goes first, in the order in which groups move on.
    """
    left = {(group, scenario) for group in range(groups) for scenario in range(scenarios)}
    out: list[Round] = []
    while left:
        sessions: list[tuple[int, int, int]] = []
        busy: set[int] = set()
        for station in range(min(stations, scenarios)):
            pair = _next(left, busy, station, min(stations, scenarios), groups, len(out))
            if pair is not None:
                group, scenario = pair
                busy.add(group)
                left.discard(pair)
                sessions.append((group, scenario, station))
        out.append(Round(len(out), tuple(sessions)))
    return tuple(out)


def _next(
    left: set[tuple[int, int]], busy: set[int], station: int, stations: int, groups: int, at: int
) -> tuple[int, int] | None:
    """Return who comes to a station next, and for which of its scenarios."""
    here = [
        (group, scenario)
        for group, scenario in left
        if group not in busy and scenario % stations == station
    ]
    to_do = {group: sum(other == group for other, _ in left) for group in range(groups)}
    return min(
        here,
        key=lambda pair: (-to_do[pair[0]], pair[1], (pair[0] - station - at) % groups),
        default=None,
    )


def clock_time(first: str, minutes: int) -> str:
    """Return the time of day so many minutes after ``first`` (09:30); past midnight there is none.

    Raises ``ValueError`` where the day is over.
    """
    hours, past = first.split(":")
    at = int(hours) * 60 + int(past) + minutes
    if at >= 24 * 60:
        raise ValueError("the plan would go past midnight")
    return f"{at // 60:02d}:{at % 60:02d}"


def spread(names: Sequence[str], number: int) -> tuple[str, ...]:
    """Return a name for each of ``number`` stations: those given, else ``Station 1`` and so on."""
    return tuple(
        names[place] if place < len(names) else f"Station {place + 1}" for place in range(number)
    )
