"""A process of its own ends with whoever waits for it, and leaves nothing open."""

from __future__ import annotations

import asyncio
import gc
import sys
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

import pytest

from simengine.web.own_process import EndedBadlyError, ran

Result = TypeVar("Result")
WAITS_FOR_EVER = "import threading; threading.Event().wait()"


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


def test_who_gives_up_waiting_leaves_no_pipe_open(monkeypatch: pytest.MonkeyPatch) -> None:
    unclosed: list[str] = []
    monkeypatch.setattr(sys, "unraisablehook", lambda left: unclosed.append(str(left.exc_value)))

    async def given_up() -> None:
        with pytest.raises(TimeoutError):
            await asyncio.wait_for(ran(WAITS_FOR_EVER), timeout=0.2)

    in_a_loop(given_up)
    gc.collect()
    assert unclosed == []
