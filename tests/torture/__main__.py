"""Do to a console what it has to survive: ``make torture ARGS="--seed 7 --fault 'disk full'"``.

Prints a table of faults and what was survived; 1 where anything was not.
"""

from __future__ import annotations

import argparse
import sys
import traceback
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from tests.torture.faults import FAULTS, NotTriedError


def main() -> int:
    """Run what is asked for."""
    parser = argparse.ArgumentParser(prog="make torture ARGS=…", description=__doc__)
    parser.add_argument("--seed", type=int, default=0, help="another seed, other instants")
    parser.add_argument("--share", type=float, default=1, help="of the times: 0.1 is a tenth")
    parser.add_argument("--fault", choices=FAULTS, action="append", help="this fault alone")
    args = parser.parse_args()
    print(f"{'fault':<28}{'times':>7}{'acknowledged':>14}{'lost':>6}  what happened")
    wrong = 0
    for name, (fault, times) in FAULTS.items():
        if args.fault and name not in args.fault:
            continue
        with TemporaryDirectory(prefix="torture-") as folder:
            try:
                ran = fault(Path(folder), Random(f"{name} {args.seed}"), share(times, args.share))
            except NotTriedError as why:
                print(f"{name:<28}{'–':>7}{'–':>14}{'–':>6}  not tried: {why}", flush=True)
                continue
            except Exception:  # noqa: BLE001 - just that is looked for
                traceback.print_exc()
                print(f"{name:<28}{'–':>7}{'–':>14}{'–':>6}  NOT SURVIVED", flush=True)
                wrong += 1
                continue
        wrong += bool(ran.lost)
        print(
            f"{name:<28}{ran.times:>7,}{ran.acknowledged:>14,}{ran.lost:>6,}  {ran.words}",
            flush=True,
        )
    return 1 if wrong else 0


def share(times: int, part: float) -> int:
    """How often, at least once."""
    return max(1, round(times * part))


if __name__ == "__main__":
    sys.exit(main())
