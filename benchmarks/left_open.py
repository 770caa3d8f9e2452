"""Rehearsals that nobody touches: what the server spends on each in ten minutes, waited for.

Each on a console of its own, all at once, beside a console that nobody is at. Ten minutes worked
out from less would count what is done once, a hint or the collection of garbage, many times.
"""

from __future__ import annotations

import asyncio
from pathlib import Path

from benchmarks.console import Display, Target, console, end
from benchmarks.many_sessions import processor_s
from benchmarks.rehearsal import Rehearsal, checked, settled

SECONDS = 600.0
_HANDS_S = 8.0
_COT, _BABY = "cot-term", "preterm-30-weeks"
CASES = ((_COT, "guided"), (_COT, "alone"), (_BABY, "guided"), (_BABY, "alone"))
_OPEN = {_COT: "oxygen_cylinder", _BABY: "t_piece"}
_BEGUN = (
    "call_for_help", "oximeter", "ecg", "watch_chest", "listen_to_heart", "mask_ventilation",
)  # fmt: skip
"""What is under way with a baby: sensors that read curves, and breaths that move them."""


async def opened(target: Target, scenario: str, way: str) -> tuple[Rehearsal, Display]:
    """Begin a rehearsal, and look at a part of its cot."""
    rehearsal = Rehearsal(target)
    await target.device.open()  # anew: the console hangs up on who says nothing for a while
    screen = await rehearsal.begin(scenario, way)
    assert await rehearsal.touch("cot", "flow", control="gas_flow", value=8)
    for action in _BEGUN if scenario == _BABY else ():
        assert await rehearsal.touch("action", action), action
        await asyncio.sleep(_HANDS_S)
    assert await rehearsal.touch("cot", _OPEN[scenario], control="look")
    return rehearsal, screen


async def spent(target: Target, rehearsal: Rehearsal | None, screen: Display | None) -> float:
    """Wait for ten minutes; return the seconds of the processor that a console took in them."""
    before = processor_s(target)
    if rehearsal is not None and screen is not None:
        await rehearsal.watch(screen, SECONDS)
    else:
        await asyncio.sleep(SECONDS)
    return processor_s(target) - before


async def left_open(folder: Path) -> tuple[float, dict[str, float]]:
    """Return the seconds of the processor of an empty console, and by rehearsal, of the others."""
    targets: list[Target] = []
    try:
        for number in range(1 + len(CASES)):
            targets.append(await console(folder / str(number)))
            await checked(targets[-1])
        for target in targets:
            await settled(target)
        empty, *others = targets
        pairs = zip(others, CASES, strict=True)
        playing = await asyncio.gather(*(opened(target, *case) for target, case in pairs))
        print(f"{len(CASES)} rehearsals are left open for {SECONDS / 60:.0f} min", flush=True)
        watched = [
            spent(target, rehearsal, screen)
            for target, (rehearsal, screen) in zip(others, playing, strict=True)
        ]
        of_empty, *of_others = await asyncio.gather(spent(empty, None, None), *watched)
    finally:
        for target in targets:
            end(target)
    names = [f"{scenario}, {way}" for scenario, way in CASES]
    return of_empty, dict(zip(names, of_others, strict=True))
