"""What a T-piece makes of flow and valves: pressures in steady state, and what its manometer shows.

Rules of this file:

- A valve keeps the place that it was turned to; pressure follows flow through that place. So more
  flow never lowers a pressure, no flow makes none, and dials that were right at one flow are wrong
  at another.
- A place is told as what the valve was turned to at the flow of the set-up (``Valve.at``). What it
  makes there may be something else, as was measured.
- Peak pressure is never above what the relief lets through, and end pressure never above peak.
- What leaks is lost before the valves, and what is not closed up makes no pressure.
- All in cmH2O, L/min, ms, and shares of 1. No clock: an instant is given.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from simengine.rehearsal.bench.bench_model import DIALS, Dial, SetUp

Places = Mapping[Dial, float]
"""What each valve is turned to, in cmH2O at the flow of its set-up."""
_MS_PER_MINUTE = 60_000


@dataclass(frozen=True, slots=True)
class Pressures:
    """What the three valves make of a flow, in cmH2O."""

    relief: float
    peak: float
    end: float

    def of(self, dial: Dial) -> float:
        """Return the pressure of one of them."""
        return {"relief": self.relief, "peak": self.peak, "end": self.end}[dial]


@dataclass(frozen=True, slots=True)
class Breaths:
    """Breaths that are given: since when (ms), how often (/min) and how long each is held (s)."""

    since_ms: int
    rate: float
    inflation_s: float

    @property
    def every_ms(self) -> float:
        """From the beginning of one breath to that of the next. The rate is above nought."""
        return _MS_PER_MINUTE / self.rate

    def is_in(self, at_ms: int) -> bool:
        """Whether a breath is held at an instant."""
        if self.rate <= 0.0:
            return False
        return (at_ms - self.since_ms) % self.every_ms < 1000.0 * self.inflation_s


def made_by(set_up: SetUp, dial: Dial, place: float, flow: float) -> float:
    """Return what one valve alone would make at a place and a flow."""
    return place * _factor(set_up, dial, flow) if flow > 0.0 else 0.0


def place_for(set_up: SetUp, dial: Dial, pressure: float, flow: float) -> float:
    """Return the place at which a valve makes a pressure. ``flow`` is above nought."""
    return pressure / _factor(set_up, dial, flow)


def place_meant(set_up: SetUp, dial: Dial, pressure: float, flow: float) -> float:
    """Return the place of a valve that people meant to make a pressure at a flow.

    What it does make is what was measured of people who meant as much.
    """
    valve = set_up.valves[dial]
    return pressure / float((flow / valve.at) ** set_up.power[dial])


def pressures(set_up: SetUp, places: Places, flow: float) -> Pressures:
    """Return what the valves make with everything closed up, each within the bounds of the next."""
    relief, peak, end = (made_by(set_up, dial, places[dial], flow) for dial in DIALS)
    peak = min(peak, relief)
    return Pressures(relief, peak, min(end, peak))


def shown_at(set_up: SetUp, places: Places, flow: float, *, leak: float, cap_closed: bool) -> float:
    """Return what the manometer shows. ``leak``: the share of the flow that is lost; 1: all open.

    ``cap_closed``: a finger over the hole in the cap, or a breath that is held.
    """
    made = pressures(set_up, places, flow * (1.0 - leak))
    return made.peak if cap_closed else made.end


def _factor(set_up: SetUp, dial: Dial, flow: float) -> float:
    valve = set_up.valves[dial]
    return valve.shows / valve.turned_to * float((flow / valve.at) ** set_up.power[dial])
