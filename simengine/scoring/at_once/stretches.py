"""Stretches of time in every redraw at once.

Rules of this file:

- Row k of ``starts`` and ``ends`` holds the k-th stretch [start, end) of each redraw, in whole ms;
  a redraw is a column. One column stands for stretches that are the same in all redraws.
- A stretch with start >= end is none. ``solved`` gives stretches in order, apart from each other,
  what is none at the end, with both ends ``NEVER``.
- What is asked of several stretches is solved at their ends: between two of them nothing changes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.session.record import NEVER, Interval

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Numbers = NDArray[Any]


_MANY = 40
"""Of more stretches than this it is quicker to count which have begun and which have ended."""

_COLUMN = 42
"""Instants of all redraws in one row: each redraw has 2 to this power of ms to itself."""


class Stretches(NamedTuple):
    """Stretches [start, end) in ms, see the rules of this file."""

    starts: Ints
    ends: Ints


def same_in_all(stretches: Sequence[Interval]) -> Stretches:
    """Return stretches that are the same in every redraw."""
    table = np.array(stretches, dtype=np.int64).reshape(-1, 2)
    return Stretches(table[:, :1], table[:, 1:])


NOWHERE = same_in_all(())


def side_by_side(parts: Sequence[Stretches]) -> Stretches:
    """Return all stretches of some, in no order."""
    if len(parts) == 1:
        return parts[0]
    width = max((part.starts.shape[1] for part in parts), default=1)
    return Stretches(
        stacked([part.starts for part in parts], width),
        stacked([part.ends for part in parts], width),
    )


def stacked(parts: Sequence[Numbers], width: int) -> Numbers:
    """Return rows under each other; those that are the same in every redraw are repeated."""
    rows = [np.broadcast_to(part, (part.shape[0], width)) for part in parts if part.shape[0]]
    return np.concatenate(rows) if rows else np.zeros((0, width), dtype=np.int64)


def holds(stretches: Stretches, at: Ints) -> Flags:
    """Whether ``at`` (rows of instants) lies in any of some stretches."""
    if len(stretches.starts) > _MANY:
        return _holds_any(stretches, at)
    out: Flags = np.zeros(np.broadcast_shapes(at.shape, (stretches.starts.shape[1],)), np.bool_)
    for start, end in zip(stretches.starts, stretches.ends, strict=True):
        out |= (start <= at) & (at < end)
    return out


def _holds_any(stretches: Stretches, at: Ints) -> Flags:
    """The same of many: more stretches have begun by then than have ended."""
    width = max(at.shape[1], stretches.starts.shape[1])
    here = stretches.starts < stretches.ends
    begun = [
        _counted(np.where(here, side, NEVER), np.broadcast_to(at, (len(at), width)))
        for side in stretches
    ]
    return begun[0] > begun[1]


def _counted(instants: Ints, at: Ints) -> Ints:
    """How many of some instants (rows) have come by ``at``, in each redraw."""
    rows, width = len(instants), at.shape[1]
    columns = np.arange(width, dtype=np.int64) << _COLUMN
    limit = (1 << _COLUMN) - 1
    flat = (np.minimum(np.broadcast_to(instants, (rows, width)), limit) + columns).T.ravel()
    flat.sort()
    sought = (np.minimum(at, limit - 1) + columns).ravel()
    come = np.searchsorted(flat, sought, side="right").reshape(at.shape)
    return np.asarray(come - rows * np.arange(width))


def solved(parts: Sequence[Stretches], inside: Callable[[Ints], Flags] | None = None) -> Stretches:
    """Return where ``inside`` (default: any of ``parts``) is so; it changes at their ends."""
    every = side_by_side(parts)
    width = every.starts.shape[1]
    limits = np.array([[0], [NEVER]], dtype=np.int64)
    bounds = stacked([every.starts, every.ends, limits], width)
    bounds.sort(axis=0)
    within = holds(every, bounds) if inside is None else inside(bounds)
    within = within & (bounds < NEVER)
    before = np.zeros_like(within)
    before[1:] = within[:-1]
    rises, falls = within & ~before, before & ~within
    number = np.cumsum(rises, axis=0)
    most = int(number[-1].max(initial=0))
    starts = np.full((most, width), NEVER, dtype=np.int64)
    ends = np.full((most, width), NEVER, dtype=np.int64)
    for edges, out in ((rises, starts), (falls, ends)):
        rows, columns = np.nonzero(edges)
        out[number[rows, columns] - 1, columns] = bounds[rows, columns]
    return Stretches(starts, ends)


def clipped(stretches: Stretches, start: Ints | int, end: Ints | int) -> Stretches:
    """Return the part of stretches within [start, end); what lies outside is none."""
    return Stretches(np.maximum(stretches.starts, start), np.minimum(stretches.ends, end))


def together(stretches: Stretches) -> Ints:
    """Return how long (ms) stretches that are apart last in all, in each redraw."""
    lengths: Ints = np.maximum(stretches.ends - stretches.starts, 0).sum(axis=0)
    return lengths
