"""Ten minutes of a resuscitation that somebody plays alone: a touch every ten seconds.

Twice as many touches as the teams of the shipped sessions record, oxygen turned up and down among
them, so that what comes to the baby and the analyser is followed. A preterm baby, since that is as
long as it lasts before it ends by itself.
"""

from __future__ import annotations

from typing import Any

from benchmarks.many_sessions import processor_s
from benchmarks.rehearsal import Rehearsal

SCENARIO = "preterm-30-weeks"
MINUTES = 10
STEP_S = 10
Chosen = dict[str, Any]


def _done(name: str) -> tuple[str, str, Chosen]:
    return "action", name, {}


def _oxygen(percent: int) -> tuple[str, str, Chosen]:
    return "cot", "blender", {"control": "oxygen", "value": percent}


BEGINS = (
    _done("assess_breathing"),
    ("cot", "flow", {"control": "gas_flow", "value": 8}),
    *(_done(name) for name in ("wrap_undried", "hat", "call_for_help", "listen_to_heart")),
    *(_done(name) for name in ("clamp_cord", "oximeter", "ecg", "head_neutral")),
    ("cot", "blender", {"control": "look"}),
    _oxygen(40),
    _done("mask_ventilation"),
)
GOES_ON = (
    _done("watch_chest"),
    _oxygen(60),
    _done("listen_to_heart"),
    _done("say_time"),
    _oxygen(30),
    _done("assess_breathing"),
    _done("talk_with_parent"),
    _done("say_plan"),
)


async def ten_minutes(rehearsal: Rehearsal) -> tuple[float, int]:
    """Play them, guided; return the seconds of the processor that they took, and the touches.

    What is waited for is let go by, as anybody may; that is not counted among the touches. Fails
    where nothing comes of a touch: it would not have been ten minutes.
    """
    screen = await rehearsal.begin(SCENARIO)
    before, touches = processor_s(rehearsal.target), MINUTES * 60 // STEP_S
    for step in range(touches):
        late = step - len(BEGINS)
        do, name, chosen = BEGINS[step] if late < 0 else GOES_ON[late % len(GOES_ON)]
        assert await rehearsal.touch(do, name, **chosen), (step, name)
        assert await rehearsal.touch("skip", ms=STEP_S * 1000), step
    used = processor_s(rehearsal.target) - before
    await screen.close()
    assert await rehearsal.touch("end"), "it ended sooner"
    return used, touches
