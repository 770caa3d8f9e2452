"""What is wanted of a setting, an observation or a dose."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isinf
from typing import Self

from simengine.quantities import Range

Value = float | str
"""A setting or observation: a number in the vocabulary's unit, or one of its words."""


@dataclass(frozen=True, slots=True)
class OneOf:
    """One of these words is wanted, for a setting or observation that is told in words."""

    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Steps:
    """A range that changes with the time on the team's clock: the row of the last instant reached.

    ``rows`` are (instant on the team's clock in ms, range), rising. Before the first row, and
    before the clock has started, what is wanted is unknown (a condition on it is false).
    ``protocol`` names the protocol value that it came from, ``reference`` says all that was asked
    of it.
    """

    rows: tuple[tuple[int, Range], ...]
    protocol: str
    reference: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class AsShown:
    """What the gauge of ``supply`` shows at the instant at which it is read, ``within`` either way.

    In ``unit``, that of the setting as which it is written down; ``full`` is what it shows of
    contents of ``capacity`` (in the supply's unit).
    """

    supply: str
    unit: str
    full: float
    capacity: float
    within: float


class ProtocolTime(int):
    """A time in ms that is a figure of the protocol; ``reference`` says which."""

    reference: str

    def __new__(cls, ms: int, reference: str) -> Self:
        made = super().__new__(cls, ms)
        made.reference = reference
        return made

    def __reduce__(self) -> tuple[type[Self], tuple[int, str]]:
        return type(self), (int(self), self.reference)


class ProtocolShare(float):
    """A share, a fraction of 1, that is a figure of the protocol; ``reference`` says which."""

    reference: str

    def __new__(cls, share: float, reference: str) -> Self:
        made = super().__new__(cls, share)
        made.reference = reference
        return made

    def __reduce__(self) -> tuple[type[Self], tuple[float, str]]:
        return type(self), (float(self), self.reference)


Wanted = Range | OneOf | Steps
Told = Wanted | AsShown
"""What is wanted of a value that goes with an action: it is set, or read and told."""


def nearest_within(wanted: Wanted, value: Value | None) -> Value | None:
    """Return the value within what is wanted that is nearest to ``value``.

    ``None`` where there is no such thing: of a range by the clock, or with an end left open.
    """
    if isinstance(wanted, OneOf):
        return value if value in wanted.words else wanted.words[0]
    if isinstance(wanted, Steps) or isinstance(value, str):
        return None
    if value is not None and wanted.contains(value):
        return value
    if wanted.bare:
        return (wanted.low + wanted.high) / 2
    low_end, high_end = not isinf(wanted.low), not isinf(wanted.high)
    if low_end and (not high_end or value is None or value < wanted.low):
        return None if wanted.low_open else wanted.low
    return wanted.high if high_end and not wanted.high_open else None
