"""Work in a process beside this one, where there is a second processor and forking is safe.

Rules of this file:

- Forking is safe only while this process has one thread and numpy has not started its own.
- The other process is told things and answers them one by one. It holds none of this one's output
  open, flushes nothing of it, and ends when its work is done or nobody listens.
- Whatever goes wrong in the other process is a ``GoneError`` here: who asked does the work itself,
  and so any complaint comes from where it always comes.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from typing import Any, BinaryIO

Work = Callable[[Iterator[Any]], Iterable[Any]]
"""From what the other process is told, as it comes, to its answers."""


class GoneError(Exception):
    """The other process can't answer."""


class Beside:
    """A process beside this one."""

    def __init__(self, child: int, told: BinaryIO, answers: BinaryIO) -> None:
        self._child = child
        self._told = told
        self._answers = answers

    def tell(self, what: object) -> None:
        """Hand over something that can be pickled. Raises ``GoneError``."""
        try:
            pickle.dump(what, self._told, pickle.HIGHEST_PROTOCOL)
            self._told.flush()
        except OSError as error:
            raise GoneError from error

    def answer(self) -> Any:
        """Wait for the next answer and return it. Raises ``GoneError``."""
        try:
            return pickle.load(self._answers)
        except (OSError, EOFError, pickle.UnpicklingError) as error:
            raise GoneError from error

    def leave(self) -> None:
        """End the other process, whatever it is doing."""
        os.kill(self._child, signal.SIGKILL)
        os.waitpid(self._child, 0)
        self._answers.close()
        with suppress(OSError):  # what was still to be told has nowhere to go
            self._told.close()


def begin(work: Work) -> Beside | None:
    """Begin work in a process beside this one; ``None`` where that is not safe or no use."""
    if not _can_fork():
        return None
    hears, told = os.pipe()
    answers, says = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(told)
        os.close(answers)
        _work_and_leave(work, hears, says)
    os.close(hears)
    os.close(says)
    return Beside(child, os.fdopen(told, "wb"), os.fdopen(answers, "rb"))


def _can_fork() -> bool:
    return (
        hasattr(os, "fork")
        and (os.cpu_count() or 1) > 1
        and threading.active_count() == 1
        and "numpy" not in sys.modules
    )


def _work_and_leave(work: Work, hears: int, says: int) -> None:
    """Do the work of the other process, which ends here."""
    status = 1
    try:
        nowhere = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nowhere, stream)
        with os.fdopen(hears, "rb") as told, os.fdopen(says, "wb") as answers:
            for answer in work(_each(told)):
                pickle.dump(answer, answers, pickle.HIGHEST_PROTOCOL)
                answers.flush()
        status = 0
    finally:
        os._exit(status)


def _each(told: BinaryIO) -> Iterator[Any]:
    while True:
        try:
            yield pickle.load(told)
        except EOFError:
            return
