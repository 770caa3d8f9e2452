"""The redrawn times of a record."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from simengine.scoring.at_once.stretches import Ints


@dataclass(frozen=True, eq=False)
class RedrawnTimes:
    """``marks``: a row for each of ``Record.marks``, a column for each redraw, in ms.

    ``clock``: time zero in each redraw, ``None`` if it never came. Gone through, it gives one
    redraw after the other, as ``Resample`` takes it.
    """

    marks: Ints
    clock: Ints | None

    def __len__(self) -> int:
        return int(self.marks.shape[1])

    def __iter__(self) -> Iterator[tuple[list[int], int | None]]:
        return (self.of(redraw) for redraw in range(len(self)))

    def of(self, redraw: int) -> tuple[list[int], int | None]:
        """Return the instants of one redraw and its time zero."""
        zero = None if self.clock is None else int(self.clock[redraw])
        return self.marks[:, redraw].tolist(), zero
