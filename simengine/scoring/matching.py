"""Which performance serves which occasion, where several want the same action.

Rules of this file:

- A performance serves one occasion at most, an occasion takes one at most, and only pairs with a
  gain above 0 are made.
- The sum of gains is the greatest there is. Sums within 1e-9 are equal, and then each occasion,
  in the order given, takes the earliest performance that it can have.
- Occasions that have no performance in common don't affect each other, and are solved apart.
- A handful of performances is solved by trying every choice with what has been tried kept; more
  by shortest augmenting paths, with every choice checked against the best sum.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from math import inf

Gains = Sequence[dict[int, float]]
"""For each occasion: performance → gain. Performances are numbered in order of time."""

EQUAL = 1e-9
_FEW = 8


def best_matching(gains: Gains) -> list[int | None]:
    """Return the performance that each occasion takes, ``None`` where it takes none."""
    chosen: list[int | None] = [None] * len(gains)
    for group in _groups(gains):
        if len(group) == 1:
            chosen[group[0]] = _best_of_one(gains[group[0]])
            continue
        own = [gains[number] for number in group]
        wanted = {performance for row in own for performance in row}
        solve = _by_trying if len(wanted) <= _FEW else _by_paths
        for number, performance in zip(group, solve(own), strict=True):
            chosen[number] = performance
    return chosen


def _best_of_one(row: dict[int, float]) -> int | None:
    best = max(row.values(), default=0.0)
    if best <= 0.0:
        return None
    return min(
        performance for performance, gain in row.items() if gain >= best - EQUAL and gain > 0.0
    )


def _groups(gains: Gains) -> list[list[int]]:
    """Occasions that are linked by performances, each group and all groups in order."""
    owner: dict[int, int] = {}
    parent = list(range(len(gains)))

    def root(number: int) -> int:
        while parent[number] != number:
            number = parent[number]
        return number

    for number, row in enumerate(gains):
        for performance in row:
            other = owner.setdefault(performance, number)
            own_root, other_root = root(other), root(number)
            if own_root != other_root:
                parent[max(own_root, other_root)] = min(own_root, other_root)
    groups: dict[int, list[int]] = {}
    for number, row in enumerate(gains):
        if row:
            groups.setdefault(root(number), []).append(number)
    return list(groups.values())


def _by_trying(rows: Gains) -> list[int | None]:
    """Solve by a table of (occasion, performances used up) → best sum of the rest."""
    order = sorted({performance for row in rows for performance in row})
    bit = {performance: 1 << place for place, performance in enumerate(order)}
    choices = [
        [(performance, bit[performance], row[performance]) for performance in sorted(row)]
        for row in rows
    ]
    last = len(rows)

    @cache
    def rest(number: int, used: int) -> float:
        if number == last:
            return 0.0
        best = rest(number + 1, used)
        for _, mask, gain in choices[number]:
            if not used & mask and gain > 0.0:
                total = gain + rest(number + 1, used | mask)
                if total > best:
                    best = total
        return best

    goal = rest(0, 0) - EQUAL
    so_far, used = 0.0, 0
    out: list[int | None] = []
    for number in range(last):
        taken: int | None = None
        for performance, mask, gain in choices[number]:
            if used & mask or gain <= 0.0:
                continue
            if so_far + gain + rest(number + 1, used | mask) >= goal:
                taken, used, so_far = performance, used | mask, so_far + gain
                break
        out.append(taken)
    return out


def _by_paths(rows: Gains) -> list[int | None]:
    """Solve by shortest augmenting paths; a choice stands if the best sum stays in reach."""
    goal = best_sum(rows) - EQUAL
    so_far = 0.0
    used: set[int] = set()
    out: list[int | None] = []
    for number, row in enumerate(rows):
        taken: int | None = None
        for performance in sorted(row):
            gain = row[performance]
            if performance in used or gain <= 0.0:
                continue
            left = [
                {other: worth for other, worth in later.items() if other not in used}
                for later in rows[number + 1 :]
            ]
            for later in left:
                later.pop(performance, None)
            if so_far + gain + best_sum(left) >= goal:
                taken, so_far = performance, so_far + gain
                used.add(performance)
                break
        out.append(taken)
    return out


def best_sum(rows: Gains) -> float:
    """Return the greatest sum of gains.

    The Hungarian method in its shortest-path form (Kuhn 1955, Naval Research Logistics Quarterly
    2:83; from memory); each occasion has a place of its own that stands for taking none.
    """
    order = sorted({performance for row in rows for performance in row})
    place = {performance: column + 1 for column, performance in enumerate(order)}
    height, width = len(rows), len(order) + len(rows)
    cost = [[inf] * (width + 1) for _ in range(height + 1)]
    for number, row in enumerate(rows, start=1):
        for performance, gain in row.items():
            if gain > 0.0:
                cost[number][place[performance]] = -gain
        cost[number][len(order) + number] = 0.0
    row_price = [0.0] * (height + 1)
    column_price = [0.0] * (width + 1)
    holder = [0] * (width + 1)
    came_from = [0] * (width + 1)
    for number in range(1, height + 1):
        holder[0] = number
        column = 0
        least = [inf] * (width + 1)
        done = [False] * (width + 1)
        while True:
            done[column] = True
            current, step, following = holder[column], inf, 0
            for other in range(1, width + 1):
                if done[other]:
                    continue
                reduced = cost[current][other] - row_price[current] - column_price[other]
                if reduced < least[other]:
                    least[other], came_from[other] = reduced, column
                if least[other] < step:
                    step, following = least[other], other
            for other in range(width + 1):
                if done[other]:
                    row_price[holder[other]] += step
                    column_price[other] -= step
                else:
                    least[other] -= step
            column = following
            if holder[column] == 0:
                break
        while column:
            previous = came_from[column]
            holder[column] = holder[previous]
            column = previous
    return -sum(
        cost[holder[column]][column] for column in range(1, width + 1) if holder[column] != 0
    )
