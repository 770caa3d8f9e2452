"""Score stored sessions, in this process or, where they are many, over several."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from simengine.cli.stored import scenario_folders

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from simengine.store import Store

FEW = 4
"""Up to so many sessions are scored in this process, since others take a second to start."""


def score_waiting(store: Store, args: argparse.Namespace) -> None:
    """Score each session that has ended and has no result of its record as it is now."""
    from simengine.exchange.scored import waiting

    score_these(store, waiting(store), args)


def score_these(store: Store, sessions: Sequence[str], args: argparse.Namespace) -> None:
    """Score some sessions, and say of which that could not be done."""
    from simengine.cli.progress import progress
    from simengine.exchange.scored import score_sessions

    if not sessions:
        return
    with _executor(len(sessions)) as executor, progress("Sessions scored") as on_progress:
        outcome = score_sessions(store, sessions, executor, on_progress, scenario_folders(args))
    for session in sessions:
        if session in outcome.problems:
            print(f"{session}: not scored: {outcome.problems[session]}", file=sys.stderr)


@contextmanager
def _executor(sessions: int) -> Iterator[Executor | None]:
    from simengine.cli.workers import processes

    if sessions <= FEW:
        yield None
        return
    with processes() as executor:
        yield executor
