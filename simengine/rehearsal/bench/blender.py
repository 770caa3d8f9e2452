"""When a turn of the blender is at the mask, and what two gases make together.

Rules of this file:

- A turn arrives after the delay that was measured at the flow; between measured flows in straight
  lines, beyond them as at the nearest. A flow that changes on the way carries it faster or slower
  from then on, and without flow it stays where it is.
- Until it has arrived the oxygen at the mask goes evenly from what it was to what was turned to,
  and ends there exactly. A turn on the way begins from what is at the mask then.
- Oxygen is a share of 1, flow in L/min, time in ms.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from simengine.rehearsal.bench.bench_model import Blender

Steps = Sequence[tuple[int, float]]
"""(instant, value), in order of time; the value holds until the next."""


def delay_ms(blender: Blender, flow: float) -> float | None:
    """Return how long a turn takes to the mask; ``None`` where there is no flow."""
    if flow <= 0.0:
        return None
    known = blender.arrives
    if flow <= known[0].flow:
        return float(known[0].mean_ms)
    for slower, faster in pairwise(known):
        if flow <= faster.flow:
            share = (flow - slower.flow) / (faster.flow - slower.flow)
            return slower.mean_ms + share * (faster.mean_ms - slower.mean_ms)
    return float(known[-1].mean_ms)


def at_mask(blender: Blender, turns: Steps, flows: Steps, at_ms: int) -> float:
    """Return the oxygen at the mask. The first of ``turns`` has been there long before.

    ``turns``: what the dial was turned to; ``flows``: what flowed, from the same instant on.
    """
    instants = sorted({at for at, _ in (*turns, *flows) if turns[0][0] < at < at_ms})
    value = target = turns[0][1]
    begun_from, done = value, 1.0
    last = turns[0][0]
    flow = _at(flows, last)
    for instant in (*instants, at_ms):
        delay = delay_ms(blender, flow)
        if delay is not None and done < 1.0:
            done = min(1.0, done + (instant - last) / delay)
        value = target if done >= 1.0 else begun_from + done * (target - begun_from)
        last, flow = instant, _at(flows, instant)
        turned = _at(turns, instant)
        if turned != target:
            begun_from, target, done = value, turned, 0.0
    return value


def mixed(blender: Blender, air: float, oxygen: float) -> float:
    """Return the share of oxygen of two flows together; ``air``'s own share where nothing flows."""
    total = air + oxygen
    return (blender.air * air + oxygen) / total if total > 0.0 else blender.air


def _at(steps: Steps, at_ms: int) -> float:
    """Return the value at an instant, a change at that instant included."""
    value = steps[0][1]
    for at, later in steps:
        if at > at_ms:
            break
        value = later
    return value
