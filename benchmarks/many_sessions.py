"""Measure twenty sessions at once: from a touch to durable, beside a bare echo that commits alike.

Twenty sessions, each with a facilitator who records one touch a second and five open screens (four
displays and a console), on one server, for half a minute; before that the same touches into the
bare echo, each sent on to five screens too. p50, p99, the processor's time for an entry, and
whether any entry is missing afterwards. Loopback only, on processes of its own. Run as
``python -m benchmarks.many_sessions``.
"""

from __future__ import annotations

import asyncio
import os
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

from benchmarks.console import (
    Connection,
    Display,
    Target,
    Times,
    anew,
    bare,
    console,
    end,
    memory_mb,
    ms,
    post,
    told,
)

SESSIONS = 20
DISPLAYS = 4
SECONDS = 30
EVERY_S = 1.0
MOST_MB = 400


async def sessions(target: Target, number: int) -> list[Target]:
    """Start sessions, each to be recorded over a connection of its own by the same browser."""
    made = []
    for _ in range(number):
        await anew(target)
        device = Connection(target.device.port)
        device.cookie = target.device.cookie
        made.append(replace(target, device=device))
    return made


async def touches(desk: Target, times: Times, first_s: float) -> None:
    """Touch once a second from ``first_s`` on, whatever the answer before took."""
    began = time.perf_counter() + first_s
    for number in range(int(SECONDS / EVERY_S)):
        due = began + number * EVERY_S
        await asyncio.sleep(max(0.0, due - time.perf_counter()))
        touched = time.perf_counter()
        await post(desk)
        times.durable.append(time.perf_counter() - touched)


def screens_of(desk: Target) -> list[Display]:
    """The five screens of a session."""
    displays = [Display(desk.device.port, desk.listen) for _ in range(DISPLAYS)]
    watched = (desk.console, desk.device.cookie) if desk.console else (desk.listen, "")
    return [*displays, Display(desk.device.port, *watched)]


async def run(target: Target) -> tuple[Times, float, list[Target]]:
    """Play all sessions at once; return the times, seconds of the processor, and the sessions."""
    desks = await sessions(target, SESSIONS)
    screens = [
        screen
        for desk in (desks if target.token else desks[:1])  # the echo sends each touch to all
        for screen in screens_of(desk)
    ]
    for screen in screens:
        await screen.open()
    for desk in desks:  # not before, for the console hangs up on who says nothing for a while
        await desk.device.open()
    times = Times()
    before = processor_s(target)
    spread = EVERY_S / SESSIONS
    await asyncio.gather(
        *(touches(desk, times, number * spread) for number, desk in enumerate(desks))
    )
    used = processor_s(target) - before
    for screen in screens:
        await screen.close()
    return times, used, desks


def processor_s(target: Target) -> float:
    """Seconds of the processor that a process has taken; only Linux tells it like this."""
    fields = Path(f"/proc/{target.process.pid}/stat").read_text().rpartition(") ")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


async def missing(desk: Target, wanted: int) -> int:
    """How many of a session's touches its log does not have."""
    address = desk.post.removesuffix("/events") + "/log"
    _, log = await desk.device.ask("GET", address)
    return wanted - log.count(b'"kind":"action"')


async def measure(folder: Path) -> bool:
    """Print everything; return whether nothing was lost and the memory bounded."""
    (folder / "bare").mkdir()
    met = True
    print(f"{SESSIONS} sessions, {DISPLAYS + 1} screens each, a touch a second for {SECONDS} s")
    print(f"{'ms from the touch to durable':34}{'p50':>10}{'p99':>10}{'CPU, ms an entry':>20}")
    for name, start in (("bare echo", bare), ("console", console)):
        target = await start(folder / ("bare" if name == "bare echo" else "console"))
        try:
            times, used, desks = await run(target)
            entries = len(times.durable)
            print(
                f"{name:34}{ms(times.durable, 0.5):10.2f}{ms(times.durable, 0.99):10.2f}"
                f"{1000 * used / entries:20.2f}"
            )
            if name == "console":
                each = int(SECONDS / EVERY_S)
                lost = sum([await missing(desk, each) for desk in desks])
                met &= told(f"{lost} of {entries:,} acknowledged entries lost", lost == 0)
                memory = memory_mb(target.process)
                met &= told(f"memory {memory:.0f} MB, at most {MOST_MB} MB", memory <= MOST_MB)
        finally:
            end(target)
    return met


def main() -> int:
    """Measure, and say by the exit status whether every aim was met."""
    with tempfile.TemporaryDirectory() as folder:
        return 0 if asyncio.run(measure(Path(folder))) else 1


if __name__ == "__main__":
    sys.exit(main())
