"""Laying out a directed graph in layers, from the top down. Plain geometry, in any unit.

Rules of this file:

- An arrow that would close a circle is turned round for the layout alone.
- A node stands one layer below the lowest of those that lead to it. An arrow over several layers
  passes each by a thin place of its own, so that it crosses no box.
- Within a layer nodes are ordered by the mean of their neighbours, and then set as near to that
  mean as order and gaps allow.
- The same graph always gives the same picture.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

Point = tuple[float, float]

LANE = 18.0
SWEEPS = 12


@dataclass(frozen=True, slots=True)
class Arrow:
    """An arrow of the graph; ``name`` tells arrows between the same nodes apart."""

    name: int
    start: str
    end: str


@dataclass(frozen=True, slots=True)
class Layout:
    """Where everything is. ``boxes``: top left corner of each node.

    ``routes``: for each arrow the points that it passes, from its start to its end; ``upward``:
    the arrows that run against the layers.
    """

    boxes: Mapping[str, Point]
    routes: Mapping[int, Sequence[Point]]
    upward: frozenset[int]
    width: float
    height: float


@dataclass(slots=True)
class _Spot:
    """A place in a layer: a node, or an arrow passing by (``arrow``)."""

    width: float
    height: float
    arrow: int | None = None
    above: list[_Spot] = field(default_factory=list)
    below: list[_Spot] = field(default_factory=list)
    middle: float = 0.0


def layered(
    sizes: Mapping[str, tuple[float, float]],
    arrows: Sequence[Arrow],
    first: str,
    *,
    gap: float,
    layer_gap: float,
) -> Layout:
    """Lay out nodes of these sizes (width, height). ``first`` is the node to begin from."""
    upward = _closing(sizes, arrows, first)
    turned = [
        Arrow(arrow.name, arrow.end, arrow.start) if arrow.name in upward else arrow
        for arrow in arrows
        if arrow.start != arrow.end
    ]
    layer_of = _layers(sizes, turned)
    spots = {name: _Spot(*size) for name, size in sizes.items()}
    layers: list[list[_Spot]] = [[] for _ in range(max(layer_of.values()) + 1)]
    for name, number in layer_of.items():
        layers[number].append(spots[name])
    passing: dict[int, list[_Spot]] = {}
    for arrow in turned:
        chain = [spots[arrow.start]]
        for number in range(layer_of[arrow.start] + 1, layer_of[arrow.end]):
            spot = _Spot(LANE, 0.0, arrow.name)
            layers[number].append(spot)
            chain.append(spot)
        chain.append(spots[arrow.end])
        passing[arrow.name] = chain[1:-1]
        for upper, lower in pairwise(chain):
            upper.below.append(lower)
            lower.above.append(upper)
    _order(layers)
    _place(layers, gap)
    tops, height = _tops(layers, layer_gap)
    left = min(spot.middle - spot.width / 2 for layer in layers for spot in layer)
    right = max(spot.middle + spot.width / 2 for layer in layers for spot in layer)
    boxes = {
        name: (spots[name].middle - spots[name].width / 2 - left, tops[layer_of[name]])
        for name in sizes
    }
    bottoms = [
        top + max(spot.height for spot in layer) for top, layer in zip(tops, layers, strict=True)
    ]
    routes: dict[int, list[Point]] = {}
    for arrow in turned:
        points: list[Point] = []
        for number, spot in enumerate(passing[arrow.name], layer_of[arrow.start] + 1):
            x = spot.middle - left
            points += [(x, tops[number]), (x, bottoms[number])]
        routes[arrow.name] = points[::-1] if arrow.name in upward else points
    return Layout(boxes, routes, frozenset(upward), right - left, height)


def _closing(sizes: Mapping[str, object], arrows: Sequence[Arrow], first: str) -> set[int]:
    """Return the arrows that lead back to a node from which the walk has come."""
    leaving: dict[str, list[Arrow]] = {name: [] for name in sizes}
    for arrow in arrows:
        leaving[arrow.start].append(arrow)
    closing: set[int] = set()
    done: set[str] = set()
    for root in (first, *sizes):
        if root in done:
            continue
        path = [root]
        todo = [iter(leaving[root])]
        while todo:
            step = next(todo[-1], None)
            if step is None:
                done.add(path.pop())
                todo.pop()
            elif step.end in path:
                closing.add(step.name)
            elif step.end not in done:
                path.append(step.end)
                todo.append(iter(leaving[step.end]))
    return closing


def _layers(sizes: Mapping[str, object], arrows: Sequence[Arrow]) -> dict[str, int]:
    layer = dict.fromkeys(sizes, 0)
    for _ in sizes:
        for arrow in arrows:
            layer[arrow.end] = max(layer[arrow.end], layer[arrow.start] + 1)
    return layer


def _order(layers: list[list[_Spot]]) -> None:
    best = [list(layer) for layer in layers]
    fewest = _crossings(layers)
    for sweep in range(SWEEPS):
        down = sweep % 2 == 0
        for layer in layers if down else reversed(layers):
            place = {id(spot): number for other in layers for number, spot in enumerate(other)}
            means = {}
            for number, spot in enumerate(layer):
                near = spot.above if down else spot.below
                means[id(spot)] = (
                    sum(place[id(neighbour)] for neighbour in near) / len(near)
                    if near
                    else float(number)
                )
            layer.sort(key=lambda spot: means[id(spot)])
        count = _crossings(layers)
        if count < fewest:
            fewest, best = count, [list(layer) for layer in layers]
    layers[:] = best


def _crossings(layers: list[list[_Spot]]) -> int:
    count = 0
    for upper, lower in pairwise(layers):
        place = {id(spot): number for number, spot in enumerate(lower)}
        lines = [
            (number, place[id(neighbour)])
            for number, spot in enumerate(upper)
            for neighbour in spot.below
        ]
        for number, (start, end) in enumerate(lines):
            count += sum(
                (start - other) * (end - other_end) < 0 for other, other_end in lines[:number]
            )
    return count


def _place(layers: list[list[_Spot]], gap: float) -> None:
    for layer in layers:
        x = 0.0
        for spot in layer:
            spot.middle = x + spot.width / 2
            x += spot.width + gap
    for sweep in range(4 * SWEEPS):
        for layer in layers if sweep % 2 == 0 else reversed(layers):
            wishes = []
            for spot in layer:
                near = [*spot.above, *spot.below]
                wish = (
                    sum(neighbour.middle for neighbour in near) / len(near) if near else spot.middle
                )
                # An arrow that passes by is kept straight before a box is centred.
                wishes.append((wish, 4.0 if spot.arrow is not None else 1.0))
            _settle(layer, wishes, gap)


def _settle(layer: list[_Spot], wishes: list[tuple[float, float]], gap: float) -> None:
    """Set each spot as near to its wish as order and gaps allow (least squares, in blocks)."""
    offset = 0.0
    offsets = []
    for number, spot in enumerate(layer):
        if number:
            before = layer[number - 1]
            between = gap if before.arrow is None or spot.arrow is None else gap / 3
            offset += before.width / 2 + between + spot.width / 2
        offsets.append(offset)
    blocks: list[tuple[float, float, int]] = []
    for (wish, weight), shift in zip(wishes, offsets, strict=True):
        blocks.append((wish - shift, weight, 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            mean, weight_two, count = blocks.pop()
            other, weight_one, count_one = blocks.pop()
            total = weight_one + weight_two
            blocks.append(
                ((other * weight_one + mean * weight_two) / total, total, count_one + count)
            )
    settled = [mean for mean, _, count in blocks for _ in range(count)]
    for spot, mean, shift in zip(layer, settled, offsets, strict=True):
        spot.middle = mean + shift


def _tops(layers: list[list[_Spot]], layer_gap: float) -> tuple[list[float], float]:
    tops = []
    y = 0.0
    for layer in layers:
        tops.append(y)
        y += max(spot.height for spot in layer) + layer_gap
    return tops, y - layer_gap
