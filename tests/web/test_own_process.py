"""A process of its own ends with whoever waits for it, and leaves nothing open.

So does a fork that stands for one in tests of the console.
"""

from __future__ import annotations

import asyncio
import gc
import sys
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, TypeVar

import anyio
import pytest

from simengine.web import own_process
from simengine.web.own_process import EndedBadlyError, ran
from tests.console.forked_programs import forking_python

Result = TypeVar("Result")
WAITS_FOR_EVER = "import threading; threading.Event().wait()"


@pytest.fixture(params=["python", "fork"], autouse=True)
def interpreter(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Have programs run by Python itself, and in another run of the test by a fork."""
    python = sys.executable if request.param == "python" else forking_python()
    monkeypatch.setattr(own_process, "PYTHON", python)


def in_a_loop(work: Callable[[], Coroutine[Any, Any, Result]]) -> Result:
    """What comes of it in a loop of its own: in this thread a browser's may be running."""
    with ThreadPoolExecutor(max_workers=1) as beside_a_loop:
        return beside_a_loop.submit(lambda: asyncio.run(work())).result()


def test_what_a_process_writes_is_returned() -> None:
    echo = "import sys; sys.stdout.write(sys.stdin.read().upper() + sys.argv[1])"
    assert in_a_loop(lambda: ran(echo, "!", told=b"heard")) == b"HEARD!"


def test_a_process_that_ends_badly_says_why() -> None:
    with pytest.raises(EndedBadlyError, match="no such day"):
        in_a_loop(lambda: ran("raise SystemExit('no such day')"))
    with pytest.raises(EndedBadlyError, match=r"Traceback[^$]*ZeroDivisionError: division by zero"):
        in_a_loop(lambda: ran("1 / 0"))


def test_a_process_that_is_killed_has_ended_badly() -> None:
    with pytest.raises(EndedBadlyError):
        in_a_loop(lambda: ran("import os; print('so far', flush=True); os.kill(os.getpid(), 9)"))


def test_a_process_has_the_folder_and_the_environment_of_whoever_began_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OF_THE_TEST", "é")
    where = "import os, pathlib, sys; print(pathlib.Path.cwd(), os.environ['OF_THE_TEST'])"
    assert in_a_loop(lambda: ran(where)).decode() == f"{tmp_path} é\n"


def test_who_gives_up_waiting_leaves_no_pipe_open(monkeypatch: pytest.MonkeyPatch) -> None:
    unclosed: list[str] = []
    monkeypatch.setattr(sys, "unraisablehook", lambda left: unclosed.append(str(left.exc_value)))

    async def given_up() -> None:
        with pytest.raises(TimeoutError):
            await asyncio.wait_for(ran(WAITS_FOR_EVER), timeout=0.2)

    in_a_loop(given_up)
    gc.collect()
    assert unclosed == []


def test_who_is_called_away_twice_leaves_no_pipe_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """As by a cancel scope of anyio, which calls away again whoever still waits for anything."""
    unclosed: list[str] = []
    monkeypatch.setattr(sys, "unraisablehook", lambda left: unclosed.append(str(left.exc_value)))

    async def called_away() -> None:
        with anyio.move_on_after(0.2):
            await ran(WAITS_FOR_EVER)

    in_a_loop(called_away)
    gc.collect()
    assert unclosed == []


def test_who_gives_up_waiting_ends_the_process(tmp_path: Path) -> None:
    """Its lock is free again once it has ended."""
    file = tmp_path / "locked"
    hold = f"import fcntl; file = open({str(file)!r}, 'w'); fcntl.flock(file, fcntl.LOCK_EX); "

    async def given_up() -> None:
        waiting = asyncio.ensure_future(
            ran(f"{hold} file.write('it'); file.flush(); {WAITS_FOR_EVER}")
        )
        while not (file.exists() and file.stat().st_size):
            await asyncio.sleep(0)
        waiting.cancel()
        with pytest.raises(asyncio.CancelledError):
            await waiting

    in_a_loop(given_up)
    assert in_a_loop(lambda: ran(f"{hold} print('free')")) == b"free\n"
