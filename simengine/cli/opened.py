"""Open the log that an argument names, and say aloud what was noticed on the way."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simengine.session.record import Session


def opened(log: Path, args: argparse.Namespace) -> Session:
    """Return the session in ``log``, under the scenario and protocol that ``args`` choose."""
    from simengine.session.from_file import open_session

    found = open_session(
        log,
        scenario=args.scenario,
        protocol=args.protocol,
        any_version=args.any_version,
    )
    for warning in found.warnings:
        print(warning, file=sys.stderr)
    return found.session
