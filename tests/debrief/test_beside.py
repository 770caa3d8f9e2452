"""Scores made in a process beside this one are the same, and what goes wrong is made good."""

import os
import subprocess
import sys

import pytest

from simengine.resources import scenarios_dir

LOG = scenarios_dir() / "sessions" / "cot-term-steady.session.jsonl"

BEGIN = f"""
import os, sys
from simengine.debrief import beside
from simengine.session.from_file import open_session
session = open_session({str(LOG)!r}).session
forks = []
fork = os.fork
os.fork = lambda: forks.append(1) or fork()
"""

pytestmark = pytest.mark.skipif(
    not hasattr(os, "fork") or (os.cpu_count() or 1) < 2, reason="needs fork and two processors"
)


def ran(program: str) -> str:
    """Run a program in a process of its own, as the command line does."""
    done = subprocess.run(
        [sys.executable, "-c", BEGIN + program],
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    assert done.stderr == ""
    return done.stdout.strip()


def test_a_fresh_process_has_the_scores_made_beside_it() -> None:
    told = ran(
        "cards = beside.cards_of([session])\n"
        "assert 'numpy' not in sys.modules\n"
        "made = cards()\n"
        "from simengine.scoring import score\n"
        "print(len(forks), made == [score(session)])"
    )
    assert told == "1 True"


def test_what_goes_wrong_beside_is_made_good_here() -> None:
    told = ran(
        "here = os.getpid()\n"
        "real = beside._scored\n"
        "def broken(sessions):\n"
        "    if os.getpid() != here:\n"
        "        raise MemoryError\n"
        "    return real(sessions)\n"
        "beside._scored = broken\n"
        "(card,) = beside.cards_of([session])()\n"
        "print(len(forks), card.total is not None)"
    )
    assert told == "1 True"


def test_once_numpy_is_there_the_scores_are_made_here() -> None:
    assert ran("import numpy\nbeside.cards_of([session])()\nprint(len(forks))") == "0"
