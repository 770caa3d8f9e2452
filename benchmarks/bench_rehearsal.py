"""Measure rehearsing alone: from a touch to shown, and the processor's time for ten minutes of it.

Touches of one person with one screen open, a rate that is set and a dial of the cot, beside the
bare ASGI echo with the same commit in turns in the same run; then the same in a page of Chromium,
where there is one, beside the least page of that echo. Then ten minutes of a resuscitation as it is
played, guided (`ten_minutes.py`); and cots and resuscitations at which nothing is done for ten
minutes of the clock, beside an empty console. Loopback only, on processes of its own. Takes a
quarter of an hour, most of it waiting. Run as ``python -m benchmarks.bench_rehearsal``.
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from benchmarks.console import Display, Target, Times, bare, console, end, ms, post, row, told
from benchmarks.left_open import left_open
from benchmarks.page_turn import chromium, chromium_path, turned
from benchmarks.rehearsal import Rehearsal, checked, settled
from benchmarks.ten_minutes import MINUTES, ten_minutes

TOUCHES = 100
ROUNDS = 3
MOST_S = 1.0
_TAB = "#tab-breathing"
_RATE, _OXYGEN = '[data-dial="ventilation_rate"]', '.dials [data-handle="oxygen"]'


async def shown(rehearsal: Rehearsal, times: Times, *touch: str, **chosen: Any) -> None:
    """Turn something again and again, each time once the screen has shown the turn before.

    ``touch``: what turns it, and its name; ``chosen``: what is chosen with it but its value.
    """
    screen = await rehearsal.begin("term-not-breathing")
    for number in range(TOUCHES):
        before, began = screen.version, time.perf_counter()
        assert await rehearsal.touch(*touch, **chosen, value=31 + number % 30)
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


async def in_a_page(reference: Target, ours: Target) -> None:
    """Turn a rate and a dial of the cot in a page, and that of the echo."""
    path = chromium_path()
    if path is None:
        print("not measured: the same in a page. It needs the command chromium (Debian's chromium)")
        return
    plain, own, cot = Times(), Times(), Times()
    rehearsal = Rehearsal(ours)
    screen = await rehearsal.begin("term-not-breathing")
    await screen.close()
    assert await rehearsal.touch("set", "ventilation_rate", value=30)
    async with chromium(path) as browser:
        for _ in range(ROUNDS):
            await turned(browser, reference, "/page", plain)
            await turned(browser, ours, rehearsal.at, own, tab=_TAB, dial=_RATE)
            await turned(browser, ours, rehearsal.at, cot, tab=_TAB, dial=_OXYGEN)
    heading("ms from the touch, in a page", "written", "in a frame")
    compared("the least page at the bare echo", plain, own, cot)
    await ours.device.open()  # anew: the console hangs up on who says nothing for a while
    await rehearsal.touch("end")


def heading(what: str, first: str, second: str) -> None:
    """Print the head of a table."""
    print(f"{what:34}{first:>20}{second:>20}")
    print(f"{'':34}" + "".join(f"{what:>10}" for what in ("p50", "p99", "p50", "p99")))


def compared(bare_name: str, plain: Times, own: Times, cot: Times) -> None:
    """Print the rows of a table, and by how much they differ."""
    print(row(bare_name, plain))
    for name, times in (("a rate that is set", own), ("a dial of the cot", cot)):
        print(row(f"rehearsal: {name}", times))
        ratio = ms(times.shown, 0.5) / ms(plain.shown, 0.5)
        print(f"{'':4}shown: p50 {ratio:.1f} times the bare one", flush=True)


async def measure(folder: Path) -> bool:
    """Print everything; return whether every aim was met."""
    (folder / "bare").mkdir()
    reference, ours = await bare(folder / "bare"), await console(folder / "console")
    met = True
    try:
        await checked(ours)
        plain, own, cot = Times(), Times(), Times()
        for _ in range(ROUNDS):
            await echoed(reference, plain)
            await shown(Rehearsal(ours), own, "set", "ventilation_rate")
            await shown(Rehearsal(ours), cot, "cot", "blender", control="oxygen")
        heading("ms from the touch to", "durable", "shown")
        compared("bare echo, one screen", plain, own, cot)
        await settled(ours)
        await in_a_page(reference, ours)
        await settled(ours)
        used, touches = await ten_minutes(Rehearsal(ours))
        words = f"{MINUTES} min played, {touches} touches: {used:.2f} s of the processor"
        met &= told(f"{words}, at most {MOST_S:g} s", used <= MOST_S)
    finally:
        for target in (reference, ours):
            end(target)
    empty, by_rehearsal = await left_open(folder)
    print(f"an empty console: {empty:.2f} s of the processor in 10 min")
    for name, used in by_rehearsal.items():
        words = f"{name}, left open for 10 min: {used - empty:.2f} s of the processor more"
        met &= told(f"{words}, at most {MOST_S:g} s", used - empty <= MOST_S)
    return met


def main() -> int:
    """Measure, and say by the exit status whether every aim was met."""
    with tempfile.TemporaryDirectory() as folder:
        return 0 if asyncio.run(measure(Path(folder))) else 1


if __name__ == "__main__":
    sys.exit(main())
