"""Measure a call in a warm process: the median and the 95th percentile over many runs.

Processor time, since the wall clock also counts what else the machine is doing.
"""

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Warm:
    """Median and 95th percentile of the processor time, in seconds."""

    median: float
    high: float

    def __str__(self) -> str:
        return f"{self.median * 1000:9.3f} ms (95 % under {self.high * 1000:.3f} ms)"


def warm(call: Callable[[], object], runs: int = 200) -> Warm:
    """Time `call`, after a few calls that do not count."""
    for _ in range(max(1, runs // 20)):
        call()
    times = []
    for _ in range(runs):
        began = time.process_time()
        call()
        times.append(time.process_time() - began)
    times.sort()
    return Warm(statistics.median(times), times[min(len(times) - 1, int(0.95 * len(times)))])
