"""Measure from a touch to durable to shown over TLS, beside a bare echo that commits alike.

A console on a network with a certificate made on the spot; one client posts an entry, the event
stream of another shows it. In the same run, a round of each in turns: a bare ASGI echo on uvicorn
over TLS by the same certificate, with one row in SQLite (``synchronous=FULL``) for each entry. The
console does more with an entry (the engine, the chain of digests, what the screen says), so the
processor's time tells the difference; on a busy machine the wall clock says how busy it is.
Connections go over loopback. Run as ``python -m benchmarks.bench_over_tls``.
"""

from __future__ import annotations

import asyncio
import statistics
import tempfile
from pathlib import Path

from benchmarks.console import ACTIONS, Times, anew, bare, console, end, ms, opened, play
from benchmarks.many_sessions import processor_s

ROUNDS = 5


async def measure(folder: Path) -> None:
    """Print both and their ratios."""
    ours = await console(folder / "console", lan=True)
    (folder / "bare").mkdir()
    reference = await bare(folder / "bare", folder / "console" / "network")
    names = {"bare echo over TLS": reference, "console over TLS": ours}
    times = {name: Times() for name in names}
    used: dict[str, list[float]] = {name: [] for name in names}
    try:
        for _ in range(ROUNDS):
            for name, target in names.items():
                await anew(target)
                async with opened(target, 1) as displays:
                    before = processor_s(target)
                    await play(target, displays, times[name])
                    used[name].append((processor_s(target) - before) / ACTIONS)
    finally:
        end(ours)
        end(reference)
    print(f"{ROUNDS} rounds of {ACTIONS} entries each, in turns")
    print(f"{'ms from the touch to':24}{'durable':>20}{'shown':>20}{'CPU, ms an entry':>20}")
    print(f"{'':24}" + "".join(f"{what:>10}" for what in ("p50", "p99") * 2) + f"{'least':>20}")
    for name in names:
        durable, shown = times[name].durable, times[name].shown
        figures = [ms(values, share) for values in (durable, shown) for share in (0.5, 0.99)]
        cells = "".join(f"{figure:10.2f}" for figure in figures)
        print(f"{name:24}{cells}{1000 * min(used[name]):20.2f}")
    plain, own = times.values()
    durable_ratio = statistics.median(own.durable) / statistics.median(plain.durable)
    shown_ratio = statistics.median(own.shown) / statistics.median(plain.shown)
    least = [min(spent) for spent in used.values()]
    print(
        f"p50 to durable {durable_ratio:.1f} times, p50 to shown {shown_ratio:.1f} times, "
        f"processor time {least[1] / least[0]:.1f} times the bare one"
    )


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        asyncio.run(measure(Path(made)))
