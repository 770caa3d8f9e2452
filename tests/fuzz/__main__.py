"""Fuzz the readers and every route: ``make fuzz ARGS="9000 --target scenario --keep FOLDER"``.

Prints each class of fault with the numbers of some files that show it; 1 if there is any.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections import defaultdict
from pathlib import Path

from tests.fuzz.run import Fault, faults
from tests.fuzz.targets import TARGETS


def main() -> int:
    """Run what is asked for."""
    parser = argparse.ArgumentParser(prog="make fuzz ARGS=…", description=__doc__)
    names = [target.name for target in TARGETS]
    parser.add_argument("count", nargs="?", type=int, default=200_000, help="inputs in all")
    parser.add_argument("--first", type=int, default=0, help="number of the first of each reader")
    parser.add_argument("--target", choices=names, action="append", help="this reader alone")
    parser.add_argument("--keep", type=Path, help="where to keep the files that show a fault")
    args = parser.parse_args()
    chosen = [target for target in TARGETS if not args.target or target.name in args.target]
    numbers = range(args.first, args.first + math.ceil(args.count / len(chosen)))
    by_class: dict[str, list[Fault]] = defaultdict(list)
    for target in chosen:
        print(f"{target.name}: {len(numbers):,}", file=sys.stderr, flush=True)
        for fault in faults(target, numbers):
            if not by_class[fault.where]:
                print(fault.trace, file=sys.stderr, flush=True)
            by_class[fault.where].append(fault)
            if args.keep is not None:
                args.keep.mkdir(parents=True, exist_ok=True)
                (args.keep / f"{fault.target}-{fault.seed}").write_bytes(fault.content)
    for where, found in sorted(by_class.items(), key=lambda one: -len(one[1])):
        some = ", ".join(f"{fault.target} {fault.seed}" for fault in found[:5])
        print(f"{len(found):6,}  {where}: {some}")
    print(f"{sum(map(len, by_class.values())):,} faults of {len(by_class)} classes")
    return 1 if by_class else 0


if __name__ == "__main__":
    sys.exit(main())
