"""Where words go in the picture: nothing is drawn here, places are only worked out.

Rules of this file:

- Boxes that only touch do not overlap.
- The same input gives the same places.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from simengine.report.look import Box


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes share some area."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def lanes(extents: Sequence[tuple[float, float]], gap: float) -> list[int]:
    """Return a lane for each (left, right) so that in no lane two come closer than ``gap``.

    Lanes are filled from 0 in order of the left ends; ties keep their order.
    """
    ends: list[float] = []
    chosen = [0] * len(extents)
    for index in sorted(range(len(extents)), key=lambda index: extents[index][0]):
        left, right = extents[index]
        free = [lane for lane, end in enumerate(ends) if end + gap <= left]
        lane = free[0] if free else len(ends)
        if not free:
            ends.append(0.0)
        ends[lane] = right
        chosen[index] = lane
    return chosen


def first_free(candidates: Iterable[Box], taken: Sequence[Box]) -> Box | None:
    """Return the first candidate that overlaps nothing that is taken."""
    for box in candidates:
        if not any(overlap(box, other) for other in taken):
            return box
    return None


@dataclass(frozen=True, slots=True)
class Spot:
    """A place for a mark with its words: ``words`` is their left end; all of it takes
    ``left`` … ``right``. ``text`` is what is written there."""

    words: float
    left: float
    right: float
    text: str


def spots(
    first: float,
    last: float,
    end: float,
    text: str,
    measure: Callable[[str], float],
    fit: Callable[[str, float], str],
    *,
    mark: float,
    low: float,
    high: float,
) -> list[Spot]:
    """Return where words may stand beside marks from ``first`` to ``last``, a bar up to ``end``.

    To their right, or to their left, within ``low`` … ``high``, best first.
    Where neither has room for all of the words, they are cut (``fit``) to the larger one.
    """
    room = measure(text)
    right_side, left_side = last + mark + 2.0, first - mark - 2.0
    end = max(end, last + mark)
    free = []
    if right_side + room <= high:
        free.append(Spot(right_side, first - mark, max(end, right_side + room), text))
    if left_side - room >= low:
        free.append(Spot(left_side - room, left_side - room, end, text))
    if free:
        return free
    if high - right_side >= left_side - low:
        cut = fit(text, high - right_side)
        return [Spot(right_side, first - mark, max(end, right_side + measure(cut)), cut)]
    cut = fit(text, left_side - low)
    words = left_side - measure(cut)
    return [Spot(words, words, end, cut)]


def pack(choices: Sequence[Sequence[Spot]], gap: float) -> list[tuple[int, Spot]]:
    """Choose a lane and a spot for each entry so that in no lane two come closer than ``gap``.

    In the order given, each takes the first lane in which one of its spots is free.
    """
    taken: list[list[Spot]] = []
    chosen: list[tuple[int, Spot]] = []
    for options in choices:
        for lane in range(len(taken) + 1):
            if lane == len(taken):
                taken.append([])
            free = [
                spot
                for spot in options
                if all(
                    spot.right + gap <= other.left or other.right + gap <= spot.left
                    for other in taken[lane]
                )
            ]
            if free:
                taken[lane].append(free[0])
                chosen.append((lane, free[0]))
                break
    return chosen
