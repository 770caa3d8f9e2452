"""Measure a command as a person meets it: a cold process, from start to end.

The compiled byte code is there, as an install leaves it: a first run that does not count writes it,
even where the environment asks Python to write none. Time is the median over several runs, since
one run says little on a busy machine; memory is the largest resident set of any run. Absolute
figures drift from machine to machine, so every benchmark measures a reference in the same run and
prints both.
"""

import os
import statistics
import subprocess
import sys
import time
from dataclasses import dataclass

KIB_PER_UNIT = 1 if sys.platform == "linux" else 1 / 1024  # ru_maxrss is in KiB, or bytes on macOS


@dataclass(frozen=True)
class Cold:
    """Median wall-clock and processor time in seconds, and largest resident memory in MiB.

    Ratios are of processor time: on a busy machine the wall clock says how busy it is.
    """

    seconds: float
    mebibytes: float
    processor: float

    def __str__(self) -> str:
        return (
            f"{self.seconds * 1000:7.0f} ms ({self.processor * 1000:5.0f} ms of processor time) "
            f"{self.mebibytes:6.0f} MiB"
        )


def cold(command: list[str], runs: int = 7) -> Cold:
    """Run the command `runs` times with its output thrown away; raise if it fails."""
    environment = {**os.environ}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    times, peaks, spent = [], [], []
    for _ in range(1 + runs):
        began = time.perf_counter()
        process = subprocess.Popen(
            command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment
        )
        _, status, used = os.wait4(process.pid, 0)
        times.append(time.perf_counter() - began)
        spent.append(used.ru_utime + used.ru_stime)
        peaks.append(used.ru_maxrss * KIB_PER_UNIT / 1024)
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode != 0:
            raise SystemExit(f"{' '.join(command)} ended with status {process.returncode}")
    return Cold(statistics.median(times[1:]), max(peaks), statistics.median(spent[1:]))
