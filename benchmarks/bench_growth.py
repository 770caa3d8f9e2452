"""How time grows with the length of a log, of a marking guide, with redraws and with states.

Asked: no worse than n log n. Each is measured as processor time, the least of a few runs, since a
busy machine only ever adds; beside it stands n log n through the first measurement, and the power
of n that fits best. The material is made: a shipped scenario with a log of any length, its marking
guide any number of times over, and a chain of states.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import log
from pathlib import Path

import numpy as np

from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from simengine.scenario.model import Scenario
from simengine.scoring import score
from simengine.session import Timed, opening, play
from simengine.session.record import Session

NAME = "term-not-breathing"
_SESSION = "00000000-0000-4000-8000-000000000001"


@dataclass(frozen=True)
class Growth:
    """Seconds for each n, of something that is done with n of ``what``."""

    title: str
    what: str
    sizes: Sequence[int]
    seconds: Sequence[float]

    @property
    def power(self) -> float:
        """The power of n that fits best."""
        return float(np.polyfit(np.log(self.sizes), np.log(self.seconds), 1)[0])

    @property
    def n_log_n(self) -> list[float]:
        """What n log n would take, from the first measurement on."""
        first = self.sizes[0] * log(self.sizes[0])
        return [self.seconds[0] * n * log(n) / first for n in self.sizes]


def least(call: Callable[[], object], runs: int = 3) -> float:
    """Return the least processor time of a few runs, in seconds."""
    times = []
    for _ in range(runs):
        began = time.process_time()
        call()
        times.append(time.process_time() - began)
    return min(times)


def script(entries: int) -> list[Timed]:
    """Return a team's entries, one a second: it ventilates, turns the oxygen and listens."""
    out = [Timed(1_000, "hold", {}), Timed(2_000, "event", {"name": "birth"})]
    for number in range(entries):
        at = 3_000 + 1_000 * number
        match number % 5:
            case 0:
                data = {"action": "mask_ventilation", "phase": "start", "role": "airway"}
            case 1:
                fraction = {"value": 21 + number % 7, "unit": "%"}
                out.append(Timed(at, "set", {"setting": "oxygen", **fraction}))
                continue
            case 2:
                data = {"action": "assess_heart_rate", "phase": "done"}
            case 3:
                data = {"action": "chest_compressions", "phase": "start"}
                if number % 10 == 8:
                    data["phase"] = "stop"
            case _:
                data = {"action": "mask_ventilation", "phase": "stop"}
        out.append(Timed(at, "action", data))
    return out


def session(scenario: Scenario, entries: int) -> Session:
    """Return a session with so many entries."""
    opened = opening(scenario, session_id=_SESSION, purpose="formative")
    return play(scenario, script(entries), opened=opened, until_ms=0)


def chain(states: int, folder: Path) -> Scenario:
    """Return a scenario that is a chain of states, a second each."""
    text = (scenarios_dir() / f"{NAME}.yaml").read_text(encoding="utf-8")
    head = text[: text.index("\nstates:")]
    parts = [head.replace("\n  state: waiting", "\n  state: s0"), "states:"]
    for number in range(states):
        parts.append(
            f"  s{number}:\n    title: State {number}\n    shows: {{heart_rate: 100 /min}}"
        )
        parts.append(f"    next: [{{to: s{number + 1}, after: 1 s}}]")
    parts.append(f"  s{states}: {{title: The last, shows: {{tone: active}}, ends: true}}")
    parts.append("key: [{expect: mask_ventilation, from: birth, ideal: 60 s}]")
    file = folder / "chain.yaml"
    file.write_text("\n".join(parts) + "\n", encoding="utf-8")
    return load_scenario(file, search=(scenarios_dir(),))


def measured(quick: bool) -> list[Growth]:
    """Measure each; ``quick``: with fewer and smaller ones."""
    scenario = load_scenario(scenarios_dir() / f"{NAME}.yaml")
    top = 4 if quick else 5
    lengths = [100 * 2**n for n in range(top)]
    logs = [session(scenario, n) for n in lengths]
    keys = [2**n for n in range(top)]
    longer = [
        replace(
            logs[0],
            scenario=replace(
                scenario,
                key=tuple(
                    replace(item, id=f"{item.id}-{n}")
                    for n in range(times)
                    for item in scenario.key
                ),
            ),
        )
        for times in keys
    ]
    redraws = [250 * 2**n for n in range(top)]
    with tempfile.TemporaryDirectory() as made:
        chains = [(25 * 2**n) for n in range(top)]
        scenarios = [chain(n, Path(made)) for n in chains]
    items = len(scenario.key)
    done = (
        ("play a log", "entries", lengths, [partial(session, scenario, n) for n in lengths]),
        ("mark a log", "entries", lengths, [partial(score, log, redraws=0) for log in logs]),
        (
            "mark it 200 times redrawn",
            "entries",
            lengths,
            [partial(score, log, redraws=200, words=False) for log in logs],
        ),
        (
            "mark 200 redraws of 100 entries",
            "items of the marking guide",
            [items * times for times in keys],
            [partial(score, log, redraws=200, words=False) for log in longer],
        ),
        (
            "mark redraws of 100 entries",
            "redraws",
            redraws,
            [partial(score, logs[0], redraws=n, words=False) for n in redraws],
        ),
        (
            "run through a chain of states",
            "states",
            chains,
            [partial(play, each, [], until_ms=10**8) for each in scenarios],
        ),
    )
    out = []
    for title, what, sizes, calls in done:
        for call in calls:
            call()
        out.append(Growth(title, what, sizes, [least(call) for call in calls]))
    return out


def draw(growths: Sequence[Growth], file: Path) -> None:
    """Draw each as measured, beside n log n."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9, 5.6), layout="constrained")
    axes = figure.subplots(2, 3).flat
    for axis, growth in zip(axes, growths, strict=True):
        ms = [seconds * 1000 for seconds in growth.seconds]
        axis.loglog(growth.sizes, ms, "o-", color="#1b4965", label="measured")
        limit = [seconds * 1000 for seconds in growth.n_log_n]
        axis.loglog(growth.sizes, limit, "--", color="#8a5a00", label="n log n")
        axis.set_title(f"{growth.title}\n(n to the power {growth.power:.2f})", fontsize=9)
        axis.set_xlabel(growth.what, fontsize=8)
        axis.set_ylabel("processor time, ms", fontsize=8)
        axis.tick_params(labelsize=7, which="both")
        axis.legend(fontsize=7)
    figure.savefig(file, metadata={"Date": None})


def main() -> None:
    """Print what was measured; draw it where a file is named."""
    growths = measured(quick=len(sys.argv) < 2)
    for growth in growths:
        times = ", ".join(
            f"{n:,}: {seconds * 1000:.1f} ms"
            for n, seconds in zip(growth.sizes, growth.seconds, strict=True)
        )
        print(f"{growth.title}, by {growth.what}: n to the power {growth.power:.2f} ({times})")
    if len(sys.argv) > 1:
        draw(growths, Path(sys.argv[1]))


if __name__ == "__main__":
    main()
