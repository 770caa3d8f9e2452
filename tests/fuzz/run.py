"""Run a reader on many mutated files, and keep those that end in a traceback or take too much."""

from __future__ import annotations

import faulthandler
import resource
import signal
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from types import FrameType

from tests.fuzz.targets import Target

MOST_S = 2.0
"""Seconds of the processor that one file may take."""
MOST_BYTES = 400_000_000
"""By which one file may raise the most memory that the process ever had."""
STUCK_S = 120
"""Seconds after which a reader that never comes back to Python ends the run, with its stack."""


class TooLongError(BaseException):
    """A reader took too long; nothing may catch it."""


class TooMuchError(BaseException):
    """A reader took too much memory."""


def peak_bytes() -> int:
    """The most memory that this process ever had."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


@dataclass(frozen=True, slots=True)
class Fault:
    """A file that a reader could not bear. ``where``: the class of the fault, one line."""

    target: str
    seed: int
    content: bytes
    where: str
    trace: str


def faults(target: Target, numbers: range, most_s: float = MOST_S) -> Iterator[Fault]:
    """Yield the faults among the mutated files of these numbers; the same number, the same file."""
    with target.opened():
        seeds = target.seeds()
        for number in numbers:
            random = Random(f"{target.name} {number}")
            content = target.mutated(random, random.choice(seeds))
            fault = tried(target, number, content, most_s)
            if fault is not None:
                yield fault


def tried(target: Target, number: int, content: bytes, most_s: float = MOST_S) -> Fault | None:
    """Have a reader read one file; return what went wrong."""
    with TemporaryDirectory(prefix="fuzz-") as folder:
        before = peak_bytes()
        try:
            with at_most(most_s):
                target.read(Path(folder), content)
            if (more := peak_bytes() - before) > MOST_BYTES:
                raise TooMuchError(f"{more:,} bytes of memory")
        except (Exception, TooLongError, TooMuchError) as error:  # noqa: BLE001 - just that is looked for
            return Fault(target.name, number, content, _where(error), traceback.format_exc())
    return None


@contextmanager
def at_most(seconds: float) -> Iterator[None]:
    """Raise ``TooLongError`` in what takes more of the processor's time than that."""

    def too_long(_: int, frame: FrameType | None) -> None:
        raise TooLongError(f"over {seconds:g} s")

    before = signal.signal(signal.SIGVTALRM, too_long)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    faulthandler.dump_traceback_later(STUCK_S, exit=True)
    try:
        yield
    finally:
        faulthandler.cancel_dump_traceback_later()
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def _where(error: BaseException) -> str:
    """Name a fault by its kind and by the last line of the program's own that it passed."""
    frames = [
        frame
        for frame in traceback.extract_tb(error.__traceback__)
        if frame.filename != __file__ or not isinstance(error, TooLongError)
    ]
    own = [frame for frame in frames if "simengine/" in frame.filename]
    last = (own or frames)[-1]
    file = last.filename.rpartition("simengine/")[2]
    return f"{type(error).__name__} in {last.name} ({file}:{last.lineno})"
