"""What is made in a process beside this one is the same, and what goes wrong there is made good."""

import os
import subprocess
import sys

import pytest

from simengine.debrief.sighting import scene_of
from simengine.resources import scenarios_dir
from simengine.scoring import score
from simengine.session.from_file import open_session

SESSIONS = sorted((scenarios_dir() / "sessions").glob("*.session.jsonl"))
LOG = scenarios_dir() / "sessions" / "cot-term-steady.session.jsonl"

BEGIN = f"""
import os, signal, sys
from simengine.debrief import beside
from simengine.debrief.artist import Artist
from simengine.debrief.scorer import Scorer
from simengine.session.from_file import open_session
session = open_session({str(LOG)!r}).session
forks = []
fork = os.fork
os.fork = lambda: forks.append(1) or fork()
def scene():
    from simengine.debrief.sighting import scene_of
    from simengine.scoring import score
    return scene_of(session, score(session, redraws=0))
"""

needs_two = pytest.mark.skipif(
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


@pytest.mark.parametrize("log", SESSIONS, ids=lambda log: log.name.partition(".")[0])
def test_a_picture_needs_no_redraws(log: object) -> None:
    session = open_session(str(log)).session
    assert scene_of(session, score(session, redraws=0)) == scene_of(session, score(session))


@needs_two
def test_a_fresh_process_has_the_scores_made_beside_it() -> None:
    told = ran(
        "with Scorer([session]) as scorer:\n"
        "    plain, whole = scorer.as_recorded(), scorer.with_intervals()\n"
        "assert 'numpy' not in sys.modules\n"
        "from simengine.scoring import score\n"
        "print(len(forks), plain == [score(session, redraws=0)], whole == [score(session)])"
    )
    assert told == "1 True True"


@needs_two
def test_a_fresh_process_has_its_pictures_drawn_beside_it() -> None:
    told = ran(
        "with Artist() as artist:\n"
        "    artist.show(scene())\n"
        "    beside_us = artist.picture()\n"
        "assert 'matplotlib' not in sys.modules\n"
        "from simengine.debrief.picture.compose import draw\n"
        "from simengine.report.drawing import svg\n"
        "print(len(forks), beside_us == svg(draw(scene())))"
    )
    assert told == "1 True"


@needs_two
def test_scores_that_go_wrong_beside_are_made_here() -> None:
    told = ran(
        "from simengine.debrief import scorer\n"
        "here = os.getpid()\n"
        "real = scorer._scored\n"
        "def broken(sessions, *, redraws):\n"
        "    if os.getpid() != here and redraws:\n"
        "        raise MemoryError\n"
        "    return real(sessions, redraws=redraws)\n"
        "scorer._scored = broken\n"
        "with Scorer([session]) as made:\n"
        "    (plain,), (whole,) = made.as_recorded(), made.with_intervals()\n"
        "print(len(forks), plain.interval, whole.interval is not None)"
    )
    assert told == "1 None True"


@needs_two
def test_an_artist_who_has_gone_is_done_without() -> None:
    told = ran(
        "with Artist() as artist:\n"
        "    os.kill(artist._other.child, signal.SIGKILL)\n"
        "    artist.show(scene())\n"
        "    artist.show(scene())\n"
        "    first, second = artist.picture(), artist.picture()\n"
        "print(len(forks), first.startswith(b'<?xml'), first == second)"
    )
    assert told == "1 True True"


@needs_two
def test_nobody_waits_for_an_artist_who_is_no_longer_needed() -> None:
    told = ran(
        "with Artist() as artist:\n"
        "    child = artist._other.child\n"
        "try:\n"
        "    os.kill(child, 0)\n"
        "except ProcessLookupError:\n"
        "    print('ended')"
    )
    assert told == "ended"


@needs_two
def test_once_numpy_is_there_all_is_made_here() -> None:
    told = ran(
        "import numpy\n"
        "with Artist() as artist, Scorer([session]) as scorer:\n"
        "    artist.show(scene())\n"
        "    (card,) = scorer.as_recorded()\n"
        "    print(len(forks), card.total is not None, len(artist.picture()) > 0)"
    )
    assert told == "0 True True"
