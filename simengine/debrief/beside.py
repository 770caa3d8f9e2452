"""Score in a process beside this one, while this one imports what draws and prints.

Rules of this file:

- Both take about as long, and neither needs the other until the picture is drawn: on two
  processors the debrief is there a fifth sooner. The cards are the same to the last digit.
- Forking is safe only while this process has one thread and numpy has not started its own;
  otherwise, or where there is no fork, or one processor alone, the scores are made here.
- Whatever goes wrong in the other process, the scores are made here, and so is any complaint.
"""

from __future__ import annotations

import os
import pickle
import sys
import threading
from collections.abc import Callable, Sequence

from simengine.scoring.card import ScoreCard
from simengine.session.record import Session


def cards_of(sessions: Sequence[Session]) -> Callable[[], list[ScoreCard]]:
    """Begin to score; the function returned gives the cards, in order, once they are needed."""
    if not _can_fork():
        return lambda: _scored(sessions)
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        _score_and_leave(sessions, reading, writing)
    os.close(writing)

    def collected() -> list[ScoreCard]:
        with os.fdopen(reading, "rb") as pipe:
            told = pipe.read()
        _, status = os.waitpid(child, 0)
        if status != 0:
            return _scored(sessions)
        cards: list[ScoreCard] = pickle.loads(told)
        return cards

    return collected


def _can_fork() -> bool:
    return (
        hasattr(os, "fork")
        and (os.cpu_count() or 1) > 1
        and threading.active_count() == 1
        and "numpy" not in sys.modules
    )


def _score_and_leave(sessions: Sequence[Session], reading: int, writing: int) -> None:
    """Do the work of the other process, which ends here and flushes nothing of this one's."""
    status = 1
    try:
        os.close(reading)
        with os.fdopen(writing, "wb") as pipe:
            pickle.dump(_scored(sessions), pipe)
        status = 0
    finally:
        os._exit(status)


def _scored(sessions: Sequence[Session]) -> list[ScoreCard]:
    from simengine.scoring import score

    return [score(session) for session in sessions]
