"""Run a reader on many mutated files, and keep those that end in a traceback or take too much.

Rules of this file:

- What is changed is read anew each time; shipped files beside it are taken apart once a process.
- Garbage is collected seldom: what readers keep for good takes long to look through, and they make
  few circles.
"""

from __future__ import annotations

import faulthandler
import gc
import resource
import signal
import time
import traceback
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from types import FrameType
from unittest.mock import patch

import jsonschema  # noqa: F401 - loaded by the first wrong file, whose time that is not

from simengine.resources import scenarios_dir
from simengine.scenario import loading, opened
from simengine.scenario.positions import Document, read_yaml
from tests.fuzz.targets import Target

MOST_S = 2.0
"""Seconds of the processor that one file may take."""
MOST_BYTES = 400_000_000
"""By which one file may raise the most memory that the process ever had."""
STUCK_S = 120
"""Seconds after which a reader that never comes back to Python ends the run, with its stack."""
_SELDOM = (100_000, 50, 100)


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


@dataclass(frozen=True, slots=True)
class Batch:
    """What came of some files. ``slowest_s``: of the processor, with the file's number."""

    target: str
    files: int
    faults: tuple[Fault, ...]
    slowest_s: float
    slowest: int
    peak_bytes: int


def batch(target: Target, numbers: Sequence[int], most_s: float = MOST_S) -> Batch:
    """Have a reader read the mutated files of these numbers; the same number, the same file."""
    faults, took = [], [(0.0, -1)]
    with _seldom_collected(), _shipped_read_once(), target.opened():
        seeds = target.seeds()
        for number in numbers:
            random = Random(f"{target.name} {number}")
            content = target.mutated(random, random.choice(seeds))
            began = time.process_time()
            fault = tried(target, number, content, most_s)
            took.append((time.process_time() - began, number))
            if fault is not None:
                faults.append(fault)
    return Batch(target.name, len(numbers), tuple(faults), *max(took), peak_bytes())


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


@contextmanager
def _seldom_collected() -> Iterator[None]:
    before = gc.get_threshold()
    gc.set_threshold(*_SELDOM)
    try:
        yield
    finally:
        gc.set_threshold(*before)


@cache
def _shipped(path: Path) -> Document:
    return read_yaml(path)


@contextmanager
def _shipped_read_once() -> Iterator[None]:
    folder = scenarios_dir()

    def read(path: Path, name: str | None = None) -> Document:
        once = name is None and path.is_relative_to(folder)
        return _shipped(path) if once else read_yaml(path, name)

    with patch.object(opened, "read_yaml", read), patch.object(loading, "read_yaml", read):
        yield


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
