"""What happened in every redraw at once, in order of time: performances, changes, readings.

Rules of this file:

- Row k is what came k-th in each redraw, by (instant, ``seq``); a redraw is a column.
- ``which`` says, for each place, which source that was; ``None`` where row k is source k in every
  redraw. What does not count in a redraw stands last, with start and stop ``NEVER``.
- What is known of a source besides its times is a table by source: ``of`` puts it in place.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from simengine.scoring.at_once.stretches import Flags, Ints, Numbers
from simengine.session.record import NEVER


@dataclass(eq=False)
class Runs:
    """Runs in every redraw, see the rules of this file. Tables by source: ``found`` (the scenario's
    own), ``stays`` and ``on_baby``.
    """

    sources: Sequence[Any]
    seqs: Ints
    start: Ints
    stop: Ints
    which: Ints | None
    found: Flags
    stays: Flags
    on_baby: Flags

    def __len__(self) -> int:
        return len(self.start)

    def of(self, table: Numbers) -> Numbers:
        """Put a table by source in the place of each run."""
        placed: Numbers = table[:, None] if self.which is None else table[self.which]
        return placed

    def by_source(self, value: Callable[[Any], Any], dtype: Any = np.bool_) -> Numbers:
        """Return what ``value`` says of each run."""
        return self.of(np.array([value(source) for source in self.sources], dtype=dtype))

    @cached_property
    def seq(self) -> Ints:
        """``seq`` of each run."""
        return self.of(self.seqs)

    @cached_property
    def counts(self) -> Flags:
        """Whether there is such a run in a redraw."""
        return self.start < NEVER


def in_order(
    sources: Sequence[Any],
    seqs: Sequence[int],
    start: Ints,
    stop: Ints,
    *,
    found: Sequence[bool] | None = None,
    stays: Sequence[bool] | None = None,
    on_baby: Sequence[bool] | None = None,
) -> Runs:
    """Put runs in order in each redraw. Rows of ``start`` and ``stop`` (ms) go with ``sources``."""
    number = len(sources)
    none = np.zeros(number, dtype=np.bool_)
    tables = [
        none if given is None else np.array(given, dtype=np.bool_)
        for given in (found, stays, on_baby)
    ]
    seq = np.array(seqs, dtype=np.int64)
    kept = list(sources)
    if number > 1:
        by_seq = np.argsort(seq, kind="stable")
        if not np.array_equal(by_seq, np.arange(number)):
            kept = [kept[place] for place in by_seq]
            seq, start, stop = seq[by_seq], start[by_seq], stop[by_seq]
            tables = [table[by_seq] for table in tables]
    stop = np.where(start < NEVER, stop, NEVER)
    which: Ints | None = None
    if number > 1 and (start[1:] < start[:-1]).any():
        which = np.argsort(start, axis=0, kind="stable")
        start = np.take_along_axis(start, which, axis=0)
        stop = np.take_along_axis(stop, which, axis=0)
    return Runs(kept, seq, start, stop, which, *tables)


def first_of(flags: Flags) -> tuple[Flags, Ints]:
    """Return whether any row is so in each redraw, and the first that is."""
    if not len(flags):
        width = flags.shape[1]
        return np.zeros(width, np.bool_), np.zeros(width, np.int64)
    return any_of(flags), flags.argmax(axis=0)


def any_of(flags: Flags) -> Flags:
    """Return whether any row is so in each redraw."""
    return np.asarray(flags.any(axis=0))


def last_of(flags: Flags) -> tuple[Flags, Ints]:
    """Return whether any row is so in each redraw, and the last that is."""
    some, place = first_of(flags[::-1])
    return some, np.maximum(len(flags) - 1 - place, 0)


def picked(rows: Numbers, place: Ints, default: Any = 0) -> Numbers:
    """Return from each redraw the row at ``place``; ``default`` where there are no rows."""
    if not len(rows):
        return np.full(place.shape, default)
    column = np.zeros(1, dtype=np.int64) if rows.shape[1] == 1 else np.arange(len(place))
    chosen: Numbers = rows[place, column]
    return chosen
