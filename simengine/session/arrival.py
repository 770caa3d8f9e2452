"""When what a dial is turned to has come to the infant, where a flow carries it there.

Rules of this file:

- The opening of a log says which settings arrive, and how long that takes at which flow; what it
  does not name acts at once. So the log alone tells what came to the infant, and when.
- A turn arrives after the delay of the flow; between the flows that are given in straight lines,
  beyond them as at the nearest. A flow that changes on the way carries it faster or slower from
  then on, and without flow it stays where it is.
- Until it has arrived what comes goes evenly from what it was to what was turned to, and ends there
  exactly. A turn on the way begins from what has come by then.
- What stood before the log says anything has been there long before.
- The infant gets it in steps, each once it has come, so never ahead of it. Six to a turn: about
  five seconds each, less than any curve takes to follow, and far less than delays differ by.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import NamedTuple

from simengine.scenario.wanted import Value
from simengine.session.record import NEVER

STEPS = 6
"""In how many steps a turn comes to the infant."""
_NANOSECOND = 1e-6
"""A nanosecond in ms."""

Steps = Sequence[tuple[int, Value]]
"""(instant, value), in order of time; the value holds until the next."""
_Numbers = list[tuple[int, float]]


@dataclass(frozen=True, slots=True)
class Arrival:
    """How what ``setting`` is turned to arrives. Values are in the units of the vocabulary.

    ``flow``: the setting that is the flow which carries it. ``found``, ``flow_found``: where both
    stand that nobody has set. ``delays``: (flow, ms), the smallest flow first.
    """

    setting: str
    found: float
    flow: str
    flow_found: float
    delays: tuple[tuple[float, float], ...]

    def delay_ms(self, flow: float) -> float | None:
        """Return how long a turn takes at a flow; ``None`` where there is none."""
        if flow <= 0.0:
            return None
        known = self.delays
        if flow <= known[0][0]:
            return known[0][1]
        for (slower, longer), (faster, shorter) in pairwise(known):
            if flow <= faster:
                share = (flow - slower) / (faster - slower)
                return longer + share * (shorter - longer)
        return known[-1][1]


class Leg(NamedTuple):
    """A stretch, from ``start_ms`` until the next begins, in which neither dial nor flow is turned.

    ``done``: which share of the way from ``came_from`` to ``goes_to`` it had come at its start.
    ``delay_ms``: how long all of the way takes; ``None`` where it stays as it is.
    """

    start_ms: int
    came_from: float
    goes_to: float
    done: float
    delay_ms: float | None

    def done_at(self, at_ms: int) -> float:
        """Return which share of the way it has come at an instant of this stretch."""
        if self.delay_ms is None:
            return self.done
        return min(1.0, self.done + (at_ms - self.start_ms) / self.delay_ms)

    def value(self, done: float) -> float:
        """Return what has come after a share of the way."""
        if done >= 1.0:
            return self.goes_to
        return self.came_from + done * (self.goes_to - self.came_from)


def legs_of(arrival: Arrival, settings: Mapping[str, Steps]) -> list[Leg]:
    """Return how a setting comes, from the beginning. ``settings``: each as it was turned."""
    (_, turned), *turns = _from_the_start(settings.get(arrival.setting, ()), arrival.found)
    (_, flow), *flows = _from_the_start(settings.get(arrival.flow, ()), arrival.flow_found)
    leg = Leg(0, turned, turned, 1.0, arrival.delay_ms(flow))
    legs = [leg]
    to_turn, to_flow = dict(turns), dict(flows)  # the last of an instant counts
    for instant in sorted(to_turn.keys() | to_flow.keys()):
        done, turned = leg.done_at(instant), to_turn.get(instant, turned)
        flow = to_flow.get(instant, flow)
        delay_ms = arrival.delay_ms(flow)
        if turned == leg.goes_to:
            leg = Leg(instant, leg.came_from, turned, done, delay_ms)
        else:
            leg = Leg(instant, leg.value(done), turned, 0.0, delay_ms)
        legs.append(leg)
    return legs


def come_by(legs: Sequence[Leg], at_ms: int) -> float:
    """Return what has come at an instant."""
    leg = next(leg for leg in reversed(legs) if leg.start_ms <= at_ms)
    return leg.value(leg.done_at(at_ms))


def in_steps(legs: Sequence[Leg]) -> _Numbers:
    """Return what has come as the infant gets it, with what is to come if nothing is turned."""
    steps: _Numbers = []
    for leg, until in zip(legs, [*(leg.start_ms for leg in legs[1:]), NEVER], strict=True):
        _add(steps, leg.start_ms, leg.value(leg.done))
        for number in range(1, STEPS + 1) if leg.delay_ms is not None else ():
            share = number / STEPS
            if share > leg.done and leg.delay_ms is not None:
                after = ceil((share - leg.done) * leg.delay_ms - _NANOSECOND)
                if leg.start_ms + after < until:
                    _add(steps, leg.start_ms + after, leg.value(share))
    return steps


def at_the_infant(arrival: Arrival, settings: Mapping[str, Steps]) -> _Numbers:
    """Return what of a setting the infant gets from each instant on; nothing of one not known."""
    turned = settings.get(arrival.setting)
    if not turned:
        return []
    legs, known_ms = legs_of(arrival, settings), turned[0][0]
    later = [step for step in in_steps(legs) if step[0] > known_ms]
    return [(known_ms, come_by(legs, known_ms)), *later]


def value_of(steps: Steps, at_ms: int) -> Value | None:
    """Return the value at an instant, a change at that instant included; ``None`` before any."""
    value: Value | None = None
    for since_ms, following in steps:
        if since_ms > at_ms:
            break
        value = following
    return value


def _from_the_start(steps: Steps, found: float) -> _Numbers:
    """Return the steps that are numbers; as found until the first of them."""
    numbers = [(at_ms, value) for at_ms, value in steps if not isinstance(value, str)]
    return numbers if numbers and numbers[0][0] <= 0 else [(0, found), *numbers]


def _add(steps: _Numbers, at_ms: int, value: float) -> None:
    if not steps or steps[-1][1] != value:
        steps.append((at_ms, value))
