"""Work in a process beside this one, where there is a second processor and forking is safe.

Rules of this file:

- Forking is safe only while this process has one thread and numpy has not started its own.
- The other process is told things and answers them one by one. It holds none of this one's output
  open, flushes nothing of it, and ends when its work is done or nobody listens.
- Whatever goes wrong in the other process, or where there is none, the work is done here, and so
  any complaint comes from where it always comes.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from types import TracebackType
from typing import Any, BinaryIO, NamedTuple, Self, TypeVar

T = TypeVar("T")

Work = Callable[[Iterator[Any]], Iterable[Any]]
"""From what the other process is told, as it comes, to its answers."""


class Beside:
    """A process beside this one, from the moment it is made until it is left."""

    def __init__(self, work: Work) -> None:
        self._other = _begun(work)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._leave()

    def tell(self, what: object) -> None:
        """Hand over something that can be pickled."""
        if self._other is not None:
            try:
                pickle.dump(what, self._other.told, pickle.HIGHEST_PROTOCOL)
                self._other.told.flush()
            except OSError:
                self._leave()

    def answer(self, here: Callable[[], T]) -> T:
        """Wait for the next answer and return it; what ``here`` gives where none can come."""
        if self._other is not None:
            try:
                answer: T = pickle.load(self._other.answers)
            except (OSError, EOFError, pickle.UnpicklingError):
                self._leave()
            else:
                return answer
        return here()

    def _leave(self) -> None:
        """End the other process, whatever it is doing."""
        other, self._other = self._other, None
        if other is None:
            return
        os.kill(other.child, signal.SIGKILL)
        os.waitpid(other.child, 0)
        other.answers.close()
        with suppress(OSError):  # what was still to be told has nowhere to go
            other.told.close()


class _Other(NamedTuple):
    child: int
    told: BinaryIO
    answers: BinaryIO


def _begun(work: Work) -> _Other | None:
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
    return _Other(child, os.fdopen(told, "wb"), os.fdopen(answers, "rb"))


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
