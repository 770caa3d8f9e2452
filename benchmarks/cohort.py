"""How the store, the coordinator's pages, the cohort report and the exports grow with the store.

Stores of 1,000, 10,000 and 100,000 sessions are copies of the shipped sessions (see ``copies``).
In processes of their own, for each size:

- import: whole logs with their results, one commit each, beside a bare INSERT of the same rows;
- pages: the coordinator's, for one unit of 50 people and for all;
- report and export: of one unit and of the whole store, with the start of the command;
- the aggregate: count and mean credit of each item over the same rows, by SQL alone.

Asked: growth no worse than linear from one size to the next, and one unit's pages do not grow.
Times are the processor's, as the clock also counts what else the machine is doing; an import waits
for the disk as well, so that its time by the clock stands beside. Memory is the largest resident
set of the part's process; this process stays small, since a child's figure begins with its
parent's. Run as ``python -m benchmarks.cohort [SIZE …]``.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from benchmarks.cold import KIB_PER_UNIT

SIZES = (1_000, 10_000, 100_000)
UNIT = "Unit 000"
PERIOD = ["--from", "2021-01-01", "--to", "2026-01-05"]
COMMAND = "import sys; from simengine.cli.main import main; sys.exit(main(sys.argv[1:]))"
PARTS = ("aggregate", "import", "pages")


def in_a_process(command: Sequence[str]) -> tuple[float, float, str]:
    """Run a command: its processor time in s, its largest memory in MiB, what it prints."""
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    )
    assert process.stdout is not None
    printed = process.stdout.read()
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        raise SystemExit(f"{' '.join(command)} ended with status {process.returncode}")
    seconds = used.ru_utime + used.ru_stime
    return seconds, used.ru_maxrss * KIB_PER_UNIT / 1024, printed


def part(name: str, folder: Path, size: int) -> list[str]:
    """Return the command that runs a part."""
    return [sys.executable, "-m", "benchmarks.cohort_parts", name, str(folder), str(size)]


def measured(folder: Path, size: int) -> Iterator[tuple[str, float, float]]:
    """Yield what was measured: its name, seconds, and the largest memory in MiB."""
    for name in PARTS:
        _, memory, printed = in_a_process(part(name, folder, size))
        for what, seconds in json.loads(printed).items():
            yield what, seconds, memory
    common = ["--data", str(folder), "--output", str(folder / "out")]
    for what, arguments in {
        "export CSV, one unit": ["export", "--csv", *common, "--unit", UNIT],
        "export CSV": ["export", "--csv", *common],
        "export to publish": ["export", "--published", *common],
        "report, one unit": ["cohort", *common, *PERIOD, "--unit", UNIT],
        "report, all units": ["cohort", *common, *PERIOD],
    }.items():
        seconds, memory, _ = in_a_process([sys.executable, "-c", COMMAND, *arguments])
        yield what, seconds, memory


def main(sizes: Sequence[int]) -> None:
    """Measure each size and say how much each part grew from the one before."""
    before: dict[str, float] = {}
    for size in sizes:
        with tempfile.TemporaryDirectory(prefix="simengine-cohort-") as made:
            folder = Path(made)
            took, _, _ = in_a_process(part("build", folder, size))
            stored = sum(file.stat().st_size for file in folder.iterdir()) / 2**20
            print(f"{size:,} sessions, made in {took:.0f} s, {stored:,.0f} MiB")
            times: dict[str, float] = {}
            for what, seconds, memory in measured(folder, size):
                times[what] = seconds
                reference = times.get("SQL aggregate")
                beside = f"{seconds / reference:8.1f} × SQL aggregate" if reference else ""
                growth = f"× {seconds / before[what]:.1f}" if what in before else ""
                cost = f"{seconds * 1000:10.1f} ms {memory:6.0f} MiB"
                print(f"  {what:<21} {cost}  {growth:<8}{beside}", flush=True)
            before = times


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or SIZES)
