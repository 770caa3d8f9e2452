"""Measure a call in a warm process: the median and the 95th percentile over many runs."""

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Warm:
    """Median and 95th percentile of the wall-clock time, in seconds."""

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
        began = time.perf_counter()
        call()
        times.append(time.perf_counter() - began)
    times.sort()
    return Warm(statistics.median(times), times[min(len(times) - 1, int(0.95 * len(times)))])
