"""Two logs of one session: what both saw, what only one saw, and how far their times lie apart.

Rules of this file:

- A sighting is a performance that was begun or done, a setting that was changed, or a fault that
  was found, at its time on the team's clock (since the opening where a log has no clock, or not
  both). What the program wrote by itself is none.
- Sightings of the same thing are paired so that as many as possible lie within ``within_s`` of each
  other, and of such pairings the one with the least time between them (assignment, by scipy). One
  sighting is in one pair at most.
- Neither observer is right. Agreement on what was seen is 2 · both ÷ (2 · both + only one + only
  the other) (positive agreement), beside the plain numbers: there is no count of what neither saw.
- Where two recorders wrote into one log they shared the work, and what only one of them has is no
  disagreement; only logs kept apart are compared.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from simengine.cohort.measured_twice import Limits, limits_of_agreement
from simengine.session.record import Session

WITHIN_S = 30.0


@dataclass(frozen=True, slots=True, order=True)
class Sighting:
    """Something that an observer wrote down, at ``at_s`` seconds.

    ``what``: ``action:NAME``, ``setting:NAME`` or ``fault:NAME``; ``label``: its words.
    """

    at_s: float
    what: str
    label: str


@dataclass(frozen=True, slots=True)
class Compared:
    """Two observers' sightings, paired. ``seen``: positive agreement, a fraction of 1.

    ``seen`` is ``None`` where nobody saw anything. ``times``: of the first less the second, in
    seconds, ``None`` with fewer than two pairs.
    """

    pairs: tuple[tuple[Sighting, Sighting], ...]
    only_one: tuple[Sighting, ...]
    only_other: tuple[Sighting, ...]
    seen: float | None
    times: Limits | None


def compare_logs(one: Session, other: Session, within_s: float = WITHIN_S) -> Compared:
    """Compare two observers' logs of the same session, folded."""
    clock = one.record.clock_ms is not None and other.record.clock_ms is not None
    return compare(sightings(one, clock=clock), sightings(other, clock=clock), within_s)


def sightings(session: Session, *, clock: bool = True) -> tuple[Sighting, ...]:
    """Return what the observer wrote down, in order of time.

    ``clock``: seconds on the team's clock, where the log has one; else since the opening.
    """
    zero_ms = (session.record.clock_ms or 0) if clock else 0
    return tuple(
        sorted(
            Sighting((at_ms - zero_ms) / 1000, what, label)
            for at_ms, what, label in _written(session)
        )
    )


def compare(
    one: Sequence[Sighting], other: Sequence[Sighting], within_s: float = WITHIN_S
) -> Compared:
    """Pair two observers' sightings. ``within_s``: seconds, above 0."""
    firsts, seconds = _by_thing(one), _by_thing(other)
    pairs: list[tuple[Sighting, Sighting]] = []
    for what, mine in firsts.items():
        pairs += _paired(mine, seconds.get(what, []), within_s)
    left = list(one)
    right = list(other)
    for first, second in pairs:
        left.remove(first)
        right.remove(second)
    pairs.sort()
    entries = 2 * len(pairs) + len(left) + len(right)
    return Compared(
        tuple(pairs),
        tuple(left),
        tuple(right),
        2 * len(pairs) / entries if entries else None,
        limits_of_agreement(
            [first.at_s for first, _ in pairs], [second.at_s for _, second in pairs]
        ),
    )


def _written(session: Session) -> Iterator[tuple[int, str, str]]:
    vocabulary = session.scenario.vocabulary
    record = session.record
    for done in record.performances:
        if done.start_mark is not None:
            label = vocabulary.actions[done.action].label
            yield done.start_ms, f"action:{done.action}", label
    for name, changes in record.changes.items():
        for change in changes:
            if change.touched:
                yield change.at_ms, f"setting:{name}", vocabulary.settings[name].label
    for fault in record.faults:
        if fault.status == "found" and fault.mark is not None:
            shows = session.scenario.start.faults[fault.fault].shows
            yield fault.at_ms, f"fault:{fault.fault}", shows


def _by_thing(sightings_: Sequence[Sighting]) -> dict[str, list[Sighting]]:
    out: dict[str, list[Sighting]] = {}
    for sighting in sightings_:
        out.setdefault(sighting.what, []).append(sighting)
    return out


def _paired(
    own: Sequence[Sighting], other: Sequence[Sighting], within_s: float
) -> list[tuple[Sighting, Sighting]]:
    if not other:
        return []
    import numpy as np
    from scipy.optimize import linear_sum_assignment

    apart = np.abs(
        np.subtract.outer([first.at_s for first in own], [second.at_s for second in other])
    )
    # a pair too far apart costs more than all the others together could
    far = within_s * (1 + min(len(own), len(other)))
    rows, columns = linear_sum_assignment(np.where(apart <= within_s, apart, far))
    return [
        (own[row], other[column])
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True)
        if apart[row, column] <= within_s
    ]
