"""Measure rehearsing alone: from a touch to shown, and the processor's time for ten minutes of it.

Touches of one person with one screen open, beside the bare ASGI echo with the same commit in turns
in the same run. Then a resuscitation of ten minutes as it is played, a touch every five seconds of
it, guided, its waiting let go by as anybody may; and a cot with a part open at which nothing is
done, for a while of the clock, from which ten minutes are worked out. Loopback only, on processes
of its own. Run as ``python -m benchmarks.bench_rehearsal``.
"""

from __future__ import annotations

import asyncio
import json
import re
import sys
import tempfile
import time
import uuid
from pathlib import Path
from typing import Any

from benchmarks.console import (
    Display,
    Target,
    Times,
    bare,
    console,
    end,
    ms,
    post,
    row,
    send_form,
    told,
)
from benchmarks.many_sessions import processor_s

TOUCHES = 100
ROUNDS = 3
MINUTES = 10
STEP_S = 10
IDLE_S = 30.0
_BUSY_S = 0.1
MOST_S = 1.0
MADE = (
    "watch_chest", "assess_breathing", "say_time", "say_plan", "name_roles", "consider_causes",
    "talk_with_parent", "call_for_help", "hat", "dry",
)  # fmt: skip


class Rehearsal:
    """A rehearsal at a console, with the screen of who plays it."""

    def __init__(self, target: Target) -> None:
        self.target = target

    async def begin(self, scenario: str) -> Display:
        """Begin one, and open its screen."""
        target = self.target
        self.at = await send_form(
            target.device, "/rehearse", target.token, scenario=scenario, way="guided"
        )
        screen = Display(target.device.port, f"{self.at}/stream", target.device.cookie)
        await screen.open()
        await screen.has(0)
        await self.touch("begin")
        return screen

    async def touch(self, do: str, name: str = "", **chosen: Any) -> bool:
        """Touch something; return whether anything came of it."""
        body = {"id": str(uuid.uuid4()), "do": do, "name": name, "chosen": chosen}
        device, headers = self.target.device, self.target.headers
        head, _ = await device.ask("POST", f"{self.at}/do", json.dumps(body).encode(), headers)
        return " 200 " in head.splitlines()[0]


async def shown(rehearsal: Rehearsal, times: Times) -> None:
    """Turn a dial again and again, each time once the screen has shown the turn before."""
    screen = await rehearsal.begin("term-not-breathing")
    for number in range(TOUCHES):
        before, began = screen.version, time.perf_counter()
        assert await rehearsal.touch("set", "ventilation_rate", value=30 + number % 30)
        times.durable.append(time.perf_counter() - began)
        await screen.has(before + 1)
        times.shown.append(time.perf_counter() - began)
    await screen.close()
    await rehearsal.touch("end")


async def echoed(target: Target, times: Times) -> None:
    """The same into the bare echo."""
    screen = Display(target.device.port, target.listen)
    await screen.open()
    for _ in range(TOUCHES):
        began = time.perf_counter()
        version = await post(target)
        times.durable.append(time.perf_counter() - began)
        await screen.has(version)
        times.shown.append(time.perf_counter() - began)
    await screen.close()


async def ten_minutes(rehearsal: Rehearsal) -> tuple[float, int]:
    """Play ten minutes; return the seconds of the processor that they took, and the touches."""
    screen = await rehearsal.begin("term-not-breathing")
    before, touches = processor_s(rehearsal.target), 0
    await rehearsal.touch("cot", "flow", control="gas_flow", value=8)
    await rehearsal.touch("action", "oximeter")
    for step in range(MINUTES * 60 // STEP_S):
        for name in (MADE[step % len(MADE)], "listen_to_heart"):
            touches += await rehearsal.touch("action", name)
        await rehearsal.touch("skip", ms=STEP_S * 1000)
    used = processor_s(rehearsal.target) - before
    await screen.close()
    await rehearsal.touch("end")
    return used, touches


async def idle(rehearsal: Rehearsal) -> float:
    """Leave a part of the cot open; return the seconds of the processor for ten minutes of it.

    What a console takes that nobody is at, in the same while just before, is not counted.
    """
    empty = processor_s(rehearsal.target)
    await asyncio.sleep(IDLE_S)
    empty = processor_s(rehearsal.target) - empty
    screen = await rehearsal.begin("cot-term")
    await rehearsal.touch("cot", "flow", control="gas_flow", value=8)
    await rehearsal.touch("cot", "oxygen_cylinder", control="look")
    before = processor_s(rehearsal.target)
    await asyncio.sleep(IDLE_S)
    used = processor_s(rehearsal.target) - before
    await screen.close()
    await rehearsal.touch("end")
    return (used - empty) * MINUTES * 60 / IDLE_S


async def measure(folder: Path) -> bool:
    """Print everything; return whether every aim was met."""
    (folder / "bare").mkdir()
    reference, ours = await bare(folder / "bare"), await console(folder / "console")
    met = True
    try:
        await checked(ours)
        plain, own = Times(), Times()
        for _ in range(ROUNDS):
            await echoed(reference, plain)
            await shown(Rehearsal(ours), own)
        print(f"{'ms from the touch to':34}{'durable':>20}{'shown':>20}")
        print(f"{'':34}" + "".join(f"{what:>10}" for what in ("p50", "p99", "p50", "p99")))
        print(row("bare echo, one screen", plain))
        print(row("rehearsal, one screen", own))
        ratio = ms(own.shown, 0.5) / ms(plain.shown, 0.5)
        print(f"{'':4}shown: p50 {ratio:.1f} times the bare one")
        await settled(ours)
        used, touches = await ten_minutes(Rehearsal(ours))
        words = f"{MINUTES} min played, {touches} touches: {used:.2f} s of the processor"
        met &= told(f"{words}, at most {MOST_S:g} s", used <= MOST_S)
        await settled(ours)
        still = await idle(Rehearsal(ours))
        words = f"{MINUTES} min with a part of the cot open: {still:.2f} s of the processor"
        met &= told(f"{words}, at most {MOST_S:g} s", still <= MOST_S)
    finally:
        for target in (reference, ours):
            end(target)
    return met


async def settled(target: Target) -> None:
    """Wait until what follows an end (its marking) is over: it is no part of the next rehearsal."""
    before = -1.0
    while (now := processor_s(target)) > before + _BUSY_S:
        before = now
        await asyncio.sleep(3.0)


async def checked(target: Target) -> None:
    """Wait until the console has checked its scenario files: that is no part of any rehearsal."""
    while True:
        _, page = await target.device.ask("GET", "/rehearse")
        if re.search(rb'value="cot-term"', page) and b"data-waiting" not in page:
            return
        await asyncio.sleep(0.5)


def main() -> int:
    """Measure, and say by the exit status whether every aim was met."""
    with tempfile.TemporaryDirectory() as folder:
        return 0 if asyncio.run(measure(Path(folder))) else 1


if __name__ == "__main__":
    sys.exit(main())
