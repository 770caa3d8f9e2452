"""Open the log that an argument names, and say aloud what was noticed on the way.

Rules of this file:

- A log whose last line was cut off is used as far as it is whole; the command does its work, says
  what was lost, and ends with status 1, so that nobody takes the log for a whole one.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simengine.session.record import Session


def opened(log: Path, args: argparse.Namespace) -> tuple[Session, int]:
    """Return the session in ``log`` and the exit status that it deserves.

    It is read under the scenario and protocol that ``args`` choose.
    """
    from simengine.session.from_file import open_session

    from_file = open_session(
        log,
        scenario=args.scenario,
        protocol=args.protocol,
        any_version=args.any_version,
    )
    for warning in from_file.warnings:
        print(warning, file=sys.stderr)
    return from_file.session, 1 if from_file.warnings else 0
