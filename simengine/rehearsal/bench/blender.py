"""How what is turned at the blender comes to the mask, and what two gases make together.

Rules of this file:

- How a turn arrives at the flow of then is the engine's (``simengine.session.arrival``), since the
  baby breathes what has come. The opening of a log holds the delays of the bench as it is then;
  analyser and baby go by those.
- Oxygen is a share of 1, flow in L/min, time in ms.
"""

from __future__ import annotations

from typing import Any

from simengine.rehearsal.bench.bench_model import FLOW, Blender
from simengine.rehearsal.bench.read import Bench
from simengine.rehearsal.bench.stand import number_of
from simengine.session.arrival import Arrival


def arrival_of(bench: Bench) -> Arrival:
    """Return how the oxygen of the blender's dial arrives."""
    blender, flow = bench.file.blender, bench.file.t_piece.flow
    return Arrival(
        blender.oxygen,
        number_of(bench.file.found.get(blender.oxygen)),
        flow,
        number_of(bench.file.found.get(flow)),
        tuple((delay.flow, float(delay.mean_ms)) for delay in blender.arrives),
    )


def arrives(bench: Bench) -> dict[str, Any]:
    """Return how it arrives as the opening of a log says it."""
    arrival = arrival_of(bench)
    unit = bench.scenario.vocabulary.settings[arrival.setting].unit
    return {
        arrival.setting: {
            "found": {"value": arrival.found, "unit": unit},
            "flow": arrival.flow,
            "flow_found": {"value": arrival.flow_found, "unit": FLOW},
            "delays": [
                {"at": {"value": flow, "unit": FLOW}, "ms": int(delay_ms)}
                for flow, delay_ms in arrival.delays
            ],
        }
    }


def mixed(blender: Blender, air: float, oxygen: float) -> float:
    """Return the share of oxygen of two flows together; ``air``'s own share where nothing flows."""
    total = air + oxygen
    return (blender.air * air + oxygen) / total if total > 0.0 else blender.air
