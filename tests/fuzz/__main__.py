"""Fuzz the readers and every route: ``make fuzz ARGS="9000 --target scenario --keep FOLDER"``.

Prints each class of fault with the numbers of some files that show it; 1 if there is any. What is
done so far is told as it goes, and readers take turns, so that a run that is cut short has had all.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

from tests.fuzz.run import Batch, Fault, batch
from tests.fuzz.targets import TARGETS

_TURN = 500
"""Files that a reader is given before the next has its turn."""


def main() -> int:
    """Run what is asked for."""
    parser = argparse.ArgumentParser(prog="make fuzz ARGS=…", description=__doc__)
    names = [target.name for target in TARGETS]
    parser.add_argument("count", nargs="?", type=int, default=200_000, help="inputs in all")
    parser.add_argument("--first", type=int, default=0, help="number of the first of each reader")
    parser.add_argument("--target", choices=names, action="append", help="this reader alone")
    parser.add_argument("--keep", type=Path, help="where to keep the files that show a fault")
    parser.add_argument("--jobs", type=int, default=1, help="processes beside each other")
    args = parser.parse_args()
    chosen = args.target or names
    end = args.first + math.ceil(args.count / len(chosen))
    by_class: dict[str, list[Fault]] = defaultdict(list)
    files, slowest, most_bytes = 0, (0.0, ""), 0
    for done in _batches(chosen, range(args.first, end), args.jobs):
        files += done.files
        slowest = max(slowest, (done.slowest_s, f"{done.target} {done.slowest}"))
        most_bytes = max(most_bytes, done.peak_bytes)
        summary = f"slowest {slowest[0]:.2f} s ({slowest[1]}), memory {most_bytes / 1e6:.0f} MB"
        print(f"{files:,} done, {done.target} last; {summary}", file=sys.stderr, flush=True)
        for fault in done.faults:
            if not by_class[fault.where]:
                print(fault.trace, file=sys.stderr, flush=True)
            by_class[fault.where].append(fault)
            if args.keep is not None:
                args.keep.mkdir(parents=True, exist_ok=True)
                (args.keep / f"{fault.target}-{fault.seed}").write_bytes(fault.content)
    for where, faults in sorted(by_class.items(), key=lambda pair: -len(pair[1])):
        some = ", ".join(f"{fault.target} {fault.seed}" for fault in faults[:5])
        print(f"{len(faults):6,}  {where}: {some}")
    print(f"{files:,} files, {summary}")
    print(f"{sum(map(len, by_class.values())):,} faults of {len(by_class)} classes")
    return 1 if by_class else 0


def _batches(names: list[str], numbers: range, jobs: int) -> Iterator[Batch]:
    """Yield what came of each batch, as it is done."""
    turns = [
        (name, numbers[at : at + _TURN]) for at in range(0, len(numbers), _TURN) for name in names
    ]
    if jobs < 2:
        yield from (_batch(*turn) for turn in turns)
        return
    with ProcessPoolExecutor(jobs) as pool:
        for turn in as_completed([pool.submit(_batch, *turn) for turn in turns]):
            yield turn.result()


def _batch(name: str, numbers: range) -> Batch:
    return batch(next(target for target in TARGETS if target.name == name), numbers)


if __name__ == "__main__":
    sys.exit(main())
