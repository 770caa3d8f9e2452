"""What the picture of a session shows, as plain data; drawing it is ``picture``'s work.

Rules of this file:

- Instants are seconds on the team's clock (before time zero negative): what the axis shows.
- Numbers are in the vocabulary's units; every text is already worded and clean.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from simengine.report.blocks import Sign

Trend = Literal["improving", "deteriorating", "stable"]


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch of time with a name: a state, or a word that an observation had."""

    start: float
    end: float
    words: str
    trend: Trend | None = None


@dataclass(frozen=True, slots=True)
class Strip:
    """Adjoining bands under one name."""

    label: str
    bands: tuple[Band, ...]


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a curve that the team could read all the time (``known``), or could not."""

    known: bool
    times: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Threshold:
    """A range of a curve at which something is asked, and the words for it."""

    low: float | None
    high: float | None
    words: str


@dataclass(frozen=True, slots=True)
class Step:
    """A row of a target that changes with the clock; an open end is ``None``."""

    start: float
    end: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Target:
    """A protocol's target by minute."""

    words: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Curve:
    """One numeric observation over the session. ``readings`` are single ones: (instant, value).

    ``other``: how it would have gone, had one act been as asked: (instant, value).
    """

    label: str
    unit: str
    pieces: tuple[Piece, ...]
    readings: tuple[tuple[float, float], ...] = ()
    thresholds: tuple[Threshold, ...] = ()
    target: Target | None = None
    notes: tuple[tuple[float, str], ...] = ()
    decimals: int = 0
    other: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class SettingLine:
    """A setting over the session: the value from each instant on, with its words."""

    label: str
    points: tuple[tuple[float, float, str], ...]


@dataclass(frozen=True, slots=True)
class SettingPanel:
    """Settings that share a unit and are carried together."""

    label: str
    unit: str
    lines: tuple[SettingLine, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """A mark, with a bar from ``start`` to ``end`` for what lasted.

    ``again``: instants of further marks that the same words stand for.
    """

    start: float
    end: float | None
    sign: Sign
    words: str
    bar: bool = False
    again: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """The marks of one phase, or the cues."""

    label: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Scene:
    """The whole picture. ``zero`` names time zero; ``None`` where the clock never started.

    ``unchanged`` tells the settings that nobody changed, on one line.
    """

    start: float
    end: float
    zero: str | None
    axis: str
    states: Strip
    strips: tuple[Strip, ...]
    curves: tuple[Curve, ...]
    settings: tuple[SettingPanel, ...]
    unchanged: str
    rows: tuple[Row, ...]
    signs: tuple[Sign, ...]
